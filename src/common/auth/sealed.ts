import { createCipheriv, createDecipheriv, hkdfSync, randomBytes } from 'node:crypto';

const [IV_BYTES, TAG_BYTES] = [12, 16];

/** Text that only this service can read and nobody can alter: AES-256-GCM with a separate key for each purpose. */
export class Sealed<Content> {
  private readonly key: Uint8Array;

  /** @param secret  undefined: a random key of this process, so sealed text is lost on restart */
  constructor(secret: string | undefined, purpose: string) {
    this.key = new Uint8Array(hkdfSync('sha256', secret ?? randomBytes(32), '', purpose, 32));
  }

  seal(content: Content): string {
    const iv = randomBytes(IV_BYTES);
    const cipher = createCipheriv('aes-256-gcm', this.key, iv);
    const text = Buffer.concat([cipher.update(JSON.stringify(content), 'utf8'), cipher.final()]);
    return Buffer.concat([iv, cipher.getAuthTag(), text]).toString('base64url');
  }

  /** undefined if it was not sealed with this key. */
  open(sealed: string | undefined): Content | undefined {
    if (!sealed) return undefined;
    const bytes = Buffer.from(sealed, 'base64url');
    try {
      const decipher = createDecipheriv('aes-256-gcm', this.key, bytes.subarray(0, IV_BYTES), {
        authTagLength: TAG_BYTES,
      });
      decipher.setAuthTag(bytes.subarray(IV_BYTES, IV_BYTES + TAG_BYTES));
      const text = Buffer.concat([decipher.update(bytes.subarray(IV_BYTES + TAG_BYTES)), decipher.final()]);
      return JSON.parse(text.toString('utf8')) as Content;
    } catch {
      return undefined;
    }
  }
}
