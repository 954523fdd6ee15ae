import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import { chownSync, linkSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import type { Config } from '../config/config.js';
import { isRoot } from '../database/run-as.js';

/** The parts of an API key. The prefix identifies it in lists and in the history; the secret authenticates it. */
export interface ApiKey {
  prefix: string;
  secret: string;
}

const PREFIX_LENGTH = 10;
const LETTERS = 'abcdefghijklmnopqrstuvwxyz234567'; // base32 of RFC 4648, in lower case
const SECRET_BYTES = 32;
const API_KEY = new RegExp(String.raw`^dbk_([${LETTERS}]{${PREFIX_LENGTH}})_([\w-]{43})$`);

/** A new key; `text` is shown once and not stored. */
export const mintApiKey = (): ApiKey & { text: string } => {
  const prefix = Array.from(randomBytes(PREFIX_LENGTH), (byte) => LETTERS[byte % LETTERS.length]).join('');
  const secret = randomBytes(SECRET_BYTES).toString('base64url');
  return { prefix, secret, text: `dbk_${prefix}_${secret}` };
};

/** The parts of a key as it was sent; undefined: not an API key. */
export const readApiKey = (text: string): ApiKey | undefined => {
  const [, prefix, secret] = API_KEY.exec(text) ?? [];
  return prefix !== undefined && secret !== undefined ? { prefix, secret } : undefined;
};

/**
 * What the database stores of a secret: HMAC-SHA256 (RFC 2104) with a pepper that it does not hold, so that access to its rows
 * allows neither using nor making a key. A slow hash would add nothing: nobody guesses 256 random bits.
 */
export class ApiKeyHash {
  constructor(private readonly pepper: string) {}

  of(secret: string): Buffer {
    return createHmac('sha256', this.pepper).update(secret).digest();
  }

  /** Constant time, so that the duration reveals nothing about the hash. */
  matches(secret: string, hash: Uint8Array): boolean {
    const own = this.of(secret);
    return own.length === hash.length && timingSafeEqual(own, hash);
  }
}

const PEPPER = /^[\w-]{43}$/; // 32 bytes as base64url

const read = (file: string): string | undefined => {
  try {
    return readFileSync(file, 'utf8').trim();
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT') return undefined;
    throw new Error(`${file}, which holds the pepper of the API keys, cannot be read (${code}).`);
  }
};

/** Writes a temporary file and links it into place: readers see the whole text or none, and of two writers the first wins. */
const make = (file: string): void => {
  const half = `${file}.${process.pid}`;
  writeFileSync(half, `${randomBytes(32).toString('base64url')}\n`, { mode: 0o600, flush: true });
  try {
    const { uid, gid } = statSync(path.dirname(file));
    if (isRoot()) chownSync(half, uid, gid); // a start by root must not lock out the owner of the folder
    linkSync(half, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    rmSync(half);
  }
};

/**
 * The pepper of the API keys: API_KEY_PEPPER or, for the embedded database, one generated once and kept in its data folder.
 * undefined: there is none, so API keys cannot be verified.
 * @param config  the settings as read: `databaseUrl` undefined for the embedded database, `dataDir` the folder actually used
 * @throws Error when the file cannot be read or written, or is damaged
 */
export const apiKeyPepper = (
  config: Pick<Config, 'apiKeyPepper' | 'databaseUrl' | 'dataDir'>,
): string | undefined => {
  if (config.apiKeyPepper !== undefined || config.databaseUrl !== undefined) return config.apiKeyPepper;
  const file = path.join(config.dataDir, 'api-key-pepper');
  if (read(file) === undefined) make(file);
  const pepper = read(file);
  if (pepper !== undefined && PEPPER.test(pepper)) return pepper;
  throw new Error(`${file}, which holds the pepper of the API keys, is damaged: put it back from a backup.`);
};
