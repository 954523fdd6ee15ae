import { faulty, notFound, type ProblemError, shown } from '../../../common/api/problem.js';
import { refusedAt } from '../../../common/api/refused-at.js';
import { minorUnitsOf } from '../../../common/currency.js';
import { readRows, type Statements, type Transaction } from '../../../common/database/database.js';
import { MOST_ITEMS } from './bill-limits.js';
import { columnsOf, objectOf, sql } from '../../../common/database/reading.js';
import { type Bill, BillGroup, BillSummary, PayItem } from './bill.models.js';
import { type BillRows, etagOf } from './bill-rows.js';

const HEAD = columnsOf(BillSummary);

export const HEADS = sql`select ${HEAD} from bill_version where drive_id = $1 order by valid_from`;

/** Quantities have the decimals of their item; rates have their own, at least those of the currency. */
const ITEM = columnsOf(PayItem, '', {
  quantity: 'round(quantity, decimals)',
  rate: 'round(rate, greatest(minor_units, scale(trim_scale(rate))))',
});

const BILL = `select h.*, (
    select coalesce(json_agg(${objectOf(ITEM)} order by position, reference), '[]')
    from bill_item i where i.drive_id = $1 and i.version = $2) as items, (
    select coalesce(json_agg(${objectOf(columnsOf(BillGroup))} order by position), '[]')
    from bill_total g where g.drive_id = $1 and g.version = $2) as groups
  from (select ${String(HEAD)} from bill_version where drive_id = $1 and version = $2) h`;

export const absentBill = (drive: string, version: string): ProblemError =>
  notFound(`bill ${version} in drive ${drive}`);

/** A version of a drive's bill with its entity tag; undefined when it does not exist. */
export const readBill = async (
  statements: Statements,
  driveId: number,
  version: string,
): Promise<Bill | undefined> => {
  const [bill] = await readRows<BillSummary & Omit<Bill, 'etag'>>(statements, BILL, driveId, version);
  return bill && { ...bill, etag: etagOf(bill) };
};

/** The currency of the project in scope. */
export const projectCurrency = async (statements: Statements): Promise<string> => {
  const [project] = await readRows<{ currency: string }>(
    statements,
    'select currency from project where id = scope_project()',
  );
  return project?.currency ?? '';
};

const SAME_DAY = 'select version from bill where drive_id = $1 and version <> $2 and valid_from = $3::date';

/** Unchanged items keep their rows, so that the history shows no change where nothing differs. */
const REPLACE = `with given as (
    select * from jsonb_to_recordset($3::jsonb) as r(reference text, "groupCode" text, "groupTitle" text, position int, description text,
      unit text, kind pay_item_kind, decimals int, quantity numeric, rate numeric)
  ), gone as (delete from pay_item where bill_id = $2 and reference not in (select reference from given))
  insert into pay_item (drive_id, bill_id, reference, group_code, group_title, position, description, unit, kind, decimals, quantity, rate)
  select $1, $2, reference, "groupCode", "groupTitle", position, description, unit, kind, decimals, quantity, rate from given
  on conflict (bill_id, reference) do update set group_code = excluded.group_code, group_title = excluded.group_title, position = excluded.position,
    description = excluded.description, unit = excluded.unit, kind = excluded.kind, decimals = excluded.decimals, quantity = excluded.quantity,
    rate = excluded.rate`;

/**
 * Replaces a version of the bill, by name. The drive must be locked.
 * @throws ProblemError for an unknown currency, a day on which another version begins, or too many items
 */
export const storeBill = async (
  transaction: Transaction,
  driveId: number,
  version: string,
  { validFrom, currency, remark, items }: BillRows,
): Promise<void> => {
  const minorUnits = minorUnitsOf(currency);
  if (minorUnits === undefined)
    throw refused('currency', currency, `${currency} is not a currency of ISO 4217`);
  if (items.length > MOST_ITEMS)
    throw refused(
      'items',
      items.length,
      `the bill would have ${items.length} items; the maximum is ${MOST_ITEMS}`,
    );
  const [other] = await readRows<{ version: string }>(transaction, SAME_DAY, driveId, version, validFrom);
  if (other)
    throw faulty('exists', [
      {
        in: 'body',
        pointer: '/validFrom',
        value: validFrom,
        detail: `bill ${other.version} counts from ${validFrom} already: two versions cannot begin on the same day`,
      },
    ]);
  const values = { validFrom: new Date(validFrom), currency, minorUnits, remark };
  const put = (): Promise<{ id: number }> =>
    transaction.bill.upsert({
      where: { driveId_version: { driveId, version } },
      create: { driveId, version, ...values },
      update: values,
      select: { id: true },
    });
  const { id } = await refusedAt('locked', { validFrom }, () => refusedAt('conflict', { currency }, put));
  const placed = items.map((item, index) => ({ ...item, position: index + 1 }));
  await transaction.$executeRawUnsafe(REPLACE, driveId, id, JSON.stringify(placed));
};

const refused = (field: string, value: unknown, detail: string): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer: `/${field}`, value: shown(value), detail }]);
