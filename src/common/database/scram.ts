import { createHash, createHmac, pbkdf2Sync, randomBytes } from 'node:crypto';

const hmac = (key: Buffer, text: string): Buffer => createHmac('sha256', key).update(text).digest();

/**
 * PostgreSQL's stored form of a password, so that the password itself is in no statement and no server log.
 * Source: RFC 5802 section 3 with SHA-256 (RFC 7677), in the format of PostgreSQL's pg_authid.rolpassword.
 * @param password  printable ASCII, which RFC 4013 leaves unchanged
 */
export const scramVerifier = (password: string, salt = randomBytes(16), iterations = 4096): string => {
  const salted = pbkdf2Sync(password, salt, iterations, 32, 'sha256');
  const storedKey = createHash('sha256').update(hmac(salted, 'Client Key')).digest('base64');
  const serverKey = hmac(salted, 'Server Key').toString('base64');
  return `SCRAM-SHA-256$${iterations}:${salt.toString('base64')}$${storedKey}:${serverKey}`;
};
