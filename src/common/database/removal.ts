import { notFound, ProblemError } from '../api/problem.js';
import { readRows, type Transaction } from './database.js';
import { HOLD_HISTORY } from './history-lock.js';
import { scope } from './scope.js';

/** Tables whose rows others may refer to; `report.record_user` lists the users of each. */
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

/** Number of users of a kind that the error names. */
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
 * Keeps others from starting to name what is being removed: writers that name codes as text validate them under the lock of the
 * drive or of the class. Taken before locking the row itself, the same order as in writes that refer to it.
 */
export const lockNames = async (transaction: Transaction): Promise<void> => {
  for (const table of ['drive', 'ground_class'])
    await transaction.$queryRawUnsafe(
      `select id from ${table} where project_id = scope_project() order by id for no key update`,
    );
};

/**
 * Removes a row that is no longer used; its history stays.
 * @param key   condition for the row, with the values that it refers to
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
  await transaction.$queryRawUnsafe(HOLD_HISTORY); // no new user of the row may appear during the check
  await assertUnused(transaction, table, what, row.id);
  await transaction.$executeRawUnsafe(`delete from ${table} where id = $1`, row.id);
};
