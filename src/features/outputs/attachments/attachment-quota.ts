import { ProblemError } from '../../../common/api/problem.js';
import type { Transaction } from '../../../common/database/database.js';
import { readRows } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';

const BYTES_PER_MB = 1024 * 1024;

/** Serialises a project's uploads from here to their commit, so that two cannot exceed the limit together. */
const IN_TURN = `select pg_advisory_xact_lock(hashtextextended('attachments of project ' || scope_project(), 0))::text as locked`;

/** Disk space of a project's files other than the given one. Removed files count: their bytes are kept. */
const USED = `select coalesce(sum(size_bytes), 0)::float8 as bytes, coalesce(bool_or(digest = $1), false) as "isKnown" from (
    select distinct digest, size_bytes from history.attached_file where project_id = scope_project()) f`;

/**
 * Checks a project's quota. Call it in the transaction that enters the file, just before it does.
 * 413 rather than 507: the limit is the project's, sending again will not help, and the service has not failed.
 * @throws ProblemError too_large
 */
export const assertWithinQuota = async (
  transaction: Transaction,
  { digest, sizeBytes }: { digest: string; sizeBytes: number },
  quotaMb: number,
): Promise<void> => {
  await transaction.$queryRawUnsafe(IN_TURN);
  const [used] = await readRows<{ bytes: number; isKnown: boolean }>(transaction, USED, digest);
  const { bytes = 0, isKnown = false } = used ?? {};
  if (isKnown || bytes + sizeBytes <= quotaMb * BYTES_PER_MB) return;
  const usedMb = (bytes / BYTES_PER_MB).toFixed(1);
  const fileMb = (sizeBytes / BYTES_PER_MB).toFixed(1);
  throw new ProblemError(
    'too_large',
    `The attachments of project ${scope().project} use ${usedMb} of ${quotaMb} MB (ATTACHMENT_QUOTA_MB); this file of ${fileMb} MB exceeds that. ` +
      'Removed attachments count, as their bytes are kept.',
  );
};
