import { notFound, ProblemError } from '../api/problem.js';
import { readRows, type Transaction } from './database.js';
import { HOLD_HISTORY } from './history-lock.js';
import { scope } from './scope.js';

/** Of the record, what others may refer to; the users of each are known to `report.record_user`. */
export type Removable =
  | 'activity_code'
  | 'equipment'
  | 'ground_class'
  | 'support_item'
  | 'calendar_shift'
  | 'machine'
  | 'drive'
  | 'bill';

interface User {
  kind: string;
  name: string;
}

/** Users of a kind that are named. */
const NAMED = 3;

const wordsOf = (users: User[]): string =>
  [...new Set(users.map(({ kind }) => kind))]
    .map((kind) => {
      const names = users.filter((user) => user.kind === kind).map(({ name }) => name);
      return `${kind} ${names.slice(0, NAMED).join(', ')}${names.length > NAMED ? ' and more' : ''}`;
    })
    .join('; ');

/** @throws ProblemError in_use naming what still uses the row */
export const assertUnused = async (
  transaction: Transaction,
  table: Removable,
  what: string,
  id: number,
): Promise<void> => {
  const users = await readRows<User>(transaction, 'select kind, name from record_user($1, $2)', table, id);
  if (users.length > 0)
    throw new ProblemError('in_use', `${what} cannot be removed: it is used by ${wordsOf(users)}`);
};

/**
 * Nobody begins to name what is removed: whatever names codes by text is validated under the lock of its drive or of its class. Taken
 * before the row that goes, as what refers to it is locked in that order too.
 */
export const lockNames = async (transaction: Transaction): Promise<void> => {
  for (const table of ['drive', 'ground_class'])
    await transaction.$queryRawUnsafe(
      `select id from ${table} where project_id = scope_project() order by id for no key update`,
    );
};

/**
 * Removes what nothing uses any more; its history stays.
 * @param key   of the row, as a condition with the values that follow it
 * @param what  as in "ground class A"
 * @throws ProblemError not_found; in_use naming what still uses it
 */
export const removeUnused = async (
  transaction: Transaction,
  table: Removable,
  what: string,
  key: string,
  ...values: string[]
): Promise<void> => {
  await lockNames(transaction);
  const [row] = await readRows<{ id: number }>(
    transaction,
    `select id from ${table} where ${key} for update`,
    ...values,
  );
  if (!row) throw notFound(`${what} in project ${scope().project}`);
  await transaction.$queryRawUnsafe(HOLD_HISTORY); // nobody begins to use what is looked at
  await assertUnused(transaction, table, what, row.id);
  await transaction.$executeRawUnsafe(`delete from ${table} where id = $1`, row.id);
};
