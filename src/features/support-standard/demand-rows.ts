import type { Fault } from '../../common/api/problem.js';
import { readRows, type Statements, type Transaction } from '../../common/database/database.js';
import type { DemandedSupportInput } from './standard.models.js';

/** The tables that hold what is demanded, with the column that says by whom. */
const OWNERS = { standard_support_item: 'standard_support_id', design_section_item: 'design_section_id' };

type Table = keyof typeof OWNERS;

const KNOWN = 'select code from support_item where code = any ($1::text[])';

/** The faults of a list of demanded support: items that are not in the project, or there twice for a zone. */
export const demandFaults = async (
  statements: Statements,
  items: readonly DemandedSupportInput[],
): Promise<Fault[]> => {
  const rows = await readRows<{ code: string }>(
    statements,
    KNOWN,
    items.map(({ item }) => item),
  );
  const known = new Set(rows.map(({ code }) => code));
  const seen = new Set<string>();
  return items.flatMap(({ item, zone }, index): Fault[] => {
    const fault = { in: 'body', pointer: `/items/${index}/item`, value: item } as const;
    if (!known.has(item)) return [{ ...fault, detail: `support item ${item} is not in the project` }];
    if (seen.has(`${item} ${zone}`)) return [{ ...fault, detail: `${item} is there twice for ${zone}` }];
    seen.add(`${item} ${zone}`);
    return [];
  });
};

/** Rows that stay keep their identity, and history tells no change where nothing differs. */
const replacing = (table: Table): string => `with given as (
    select i.id, i.unit, r.zone::support_zone as zone, r."quantityPerM" as quantity, coalesce(r."tolerancePercent", 0) as tolerance
    from jsonb_to_recordset($2::jsonb) as r(item text, zone text, "quantityPerM" numeric, "tolerancePercent" numeric)
    join support_item i on i.code = r.item
  ), gone as (
    delete from ${table} t where t.${OWNERS[table]} = $1
      and not exists (select from given g where g.id = t.support_item_id and g.zone = t.zone)
  )
  insert into ${table} (${OWNERS[table]}, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
  select $1, id, unit, zone, quantity, tolerance from given
  on conflict (${OWNERS[table]}, support_item_id, zone, from_deg)
    do update set quantity_per_m = excluded.quantity_per_m, tolerance_percent = excluded.tolerance_percent`;

/** Puts the list in the place of the one that stood. */
export const replaceDemand = async (
  transaction: Transaction,
  table: Table,
  owner: number,
  items: readonly DemandedSupportInput[],
): Promise<void> => {
  await transaction.$executeRawUnsafe(replacing(table), owner, JSON.stringify(items));
};

/** SQL: the list of an owner, as it is told. */
export const demandOf = (table: Table, owner: string): string => `(
  select coalesce(json_agg(json_build_object('item', i.code, 'zone', r.zone, 'unit', r.unit, 'quantityPerM', r.quantity_per_m::text,
    'tolerancePercent', r.tolerance_percent::text) order by r.zone, i.code), '[]')
  from ${table} r join support_item i on i.id = r.support_item_id where r.${OWNERS[table]} = ${owner})`;
