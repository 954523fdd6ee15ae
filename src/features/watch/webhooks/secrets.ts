import { hkdfSync, randomBytes } from 'node:crypto';
import { Webhook } from 'standardwebhooks';

/** What the database stores of a secret: useless without the service's pepper, which the database does not hold. */
export interface KeptSecret {
  salt: Buffer;
  /** Shows whether the current pepper is the one with which the secret was made. */
  fingerprint: string;
}

const SECRET_BYTES = 32; // the specification allows 24 to 64
const FINGERPRINT_BYTES = 8;

/** HKDF with SHA-256 (RFC 5869): values derived under different names are independent. */
const derived = (pepper: string, salt: Buffer, name: string, bytes: number): Buffer =>
  Buffer.from(hkdfSync('sha256', pepper, salt, `drivebook webhook ${name}`, bytes));

const fingerprintOf = (pepper: string, salt: Buffer): string =>
  derived(pepper, salt, 'fingerprint', FINGERPRINT_BYTES).toString('hex');

const textOf = (pepper: string, salt: Buffer): string =>
  `whsec_${derived(pepper, salt, 'secret', SECRET_BYTES).toString('base64')}`;

/** A new signing secret: its text, to be shown once, and what is stored of it. */
export const newSecret = (pepper: string): { text: string; kept: KeptSecret } => {
  const salt = randomBytes(SECRET_BYTES);
  return { text: textOf(pepper, salt), kept: { salt, fingerprint: fingerprintOf(pepper, salt) } };
};

/** The text of a secret; undefined: it was made with another pepper. */
export const secretOf = (pepper: string, { salt, fingerprint }: KeptSecret): string | undefined =>
  fingerprintOf(pepper, salt) === fingerprint ? textOf(pepper, salt) : undefined;

/**
 * The headers of an attempt: signed with each secret, newest first, so that a receiver may know either.
 * Source: Standard Webhooks 1.0.0, "Webhook headers" and "Signature scheme".
 */
export const signedHeaders = (
  secrets: readonly string[],
  message: string,
  at: Date,
  payload: string,
): Record<string, string> => ({
  'webhook-id': message,
  'webhook-timestamp': String(Math.floor(at.getTime() / 1000)),
  'webhook-signature': secrets.map((secret) => new Webhook(secret).sign(message, at, payload)).join(' '),
});
