import { createHash, createHmac } from 'node:crypto';
import { scramVerifier } from '../../src/common/database/scram.js';

it('stores of a password what verifies the exchange of RFC 7677 section 3', () => {
  const salt = 'W22ZaJ0SNY7soEsUEjb6gQ==';
  const nonce = 'rOprNGfwEbeRWgbNEkqO%hvYDpWUa2RaTCAfuxFIlj)hNlF$k0';
  const spoken = `n=user,r=rOprNGfwEbeRWgbNEkqO,r=${nonce},s=${salt},i=4096,c=biws,r=${nonce}`;
  const proof = Buffer.from('dHzbZapWIk4jUhN+Ute9ytag9zjfMHgsqmmiz7AndVQ=', 'base64');
  const kept = scramVerifier('pencil', Buffer.from(salt, 'base64'));
  const [, stored = '', server = ''] =
    /^SCRAM-SHA-256\$4096:W22ZaJ0SNY7soEsUEjb6gQ==\$(.+):(.+)$/.exec(kept) ?? [];
  const sign = (key: string): Buffer =>
    createHmac('sha256', Buffer.from(key, 'base64')).update(spoken).digest();
  expect(sign(server).toString('base64')).toBe('6rriTRBi23WpRR/wtup+mMhUZUn/dB5nLTJRsjl95G4=');
  // the client key, recovered from its proof with the signature, is the one whose hash is stored
  const signature = sign(stored);
  const clientKey = proof.map((byte, at) => byte ^ (signature[at] ?? 0));
  expect(createHash('sha256').update(clientKey).digest('base64')).toBe(stored);
});
