import { ApiKeyHash, mintApiKey } from '../../../common/auth/api-keys.js';
import type { Permission } from '../../../common/auth/permissions.js';

export const DAY_MS = 86_400_000;
export const MAX_DAYS = 400;

export const INSERT_KEY = `insert into api_key (project_id, name, prefix, hash, scopes, created_at, created_by, expires_at)
  values ($1, $2, $3, $4, $5::text[], $6::timestamptz, $7, $8::timestamptz)`;

export interface KeyOptions {
  /** null: the whole installation */
  projectId: number | null;
  name: string;
  scopes: readonly Permission[];
  createdBy: string;
  createdAt: Date;
  expiresAt: Date;
}

/** A new key: its text, to be shown once, and the parameters of INSERT_KEY, which do not contain its secret. */
export const newKey = (
  pepper: string,
  { projectId, name, scopes, createdBy, createdAt, expiresAt }: KeyOptions,
): { text: string; prefix: string; row: unknown[] } => {
  const { prefix, secret, text } = mintApiKey();
  const hash = new ApiKeyHash(pepper).of(secret);
  const row = [
    projectId,
    name,
    prefix,
    hash,
    scopes,
    createdAt.toISOString(),
    createdBy,
    expiresAt.toISOString(),
  ];
  return { text, prefix, row };
};
