import type { Fault } from '../../../common/api/problem.js';
import { readRows, type Statements, type Transaction } from '../../../common/database/database.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import type { DemandedSupportInput } from './standard.models.js';

/** The tables with demanded support, and the column of their owner. */
const OWNERS = { standard_support_item: 'standard_support_id', design_section_item: 'design_section_id' };

type Table = keyof typeof OWNERS;

const KNOWN = 'select code, unit from support_item where code = any ($1::text[])';

/** Faults of a list of demanded support: unknown or repeated items, and incomplete or contradictory demands. */
export const demandFaults = async (
  statements: Statements,
  items: readonly DemandedSupportInput[],
): Promise<Fault[]> => {
  const rows = await readRows<{ code: string; unit: string }>(
    statements,
    KNOWN,
    items.map(({ item }) => item),
  );
  const units = new Map(rows.map(({ code, unit }) => [code, unit]));
  const isKnown = items.every(({ item }) => units.has(item));
  const codes = isKnown ? [] : await codesOf(statements, 'support_item');
  const seen = new Set<string>();
  return items.flatMap((demand, index): Fault[] => {
    const { item, zone, fromDeg } = demand;
    const fault = { in: 'body', pointer: `/items/${index}/item`, value: item } as const;
    const unit = units.get(item);
    if (unit === undefined) return [{ ...fault, detail: unknownCode('support item', item, codes) }];
    const sector = fromDeg == null ? '' : ` from ${Number(fromDeg)}°`;
    const key = `${item} ${zone}${sector}`;
    if (seen.has(key)) return [{ ...fault, detail: `${item} is listed twice for ${zone}${sector}` }];
    seen.add(key);
    return shapeFaults(demand, unit).map(([name, detail]) => ({
      in: 'body',
      pointer: `/items/${index}/${name}`,
      value: demand[name],
      detail,
    }));
  });
};

type Name = keyof DemandedSupportInput;

const OF_SPACING: Name[] = [
  'toleranceM',
  'piecesPerRow',
  'fromDeg',
  'toDeg',
  'aroundSpacingM',
  'aroundToleranceM',
];

/** Fields of a single demand that are missing or contradictory, and why. */
const shapeFaults = (demand: DemandedSupportInput, unit: string): [Name, string][] => {
  const { item, quantityPerM, spacingM, tolerancePercent, fromDeg, toDeg, piecesPerRow, aroundSpacingM } =
    demand;
  if (quantityPerM == null && spacingM == null)
    return [
      ['quantityPerM', 'quantityPerM is missing: a demand is a quantity per metre, or a spacing (spacingM)'],
    ];
  if (spacingM == null)
    return OF_SPACING.filter((name) => demand[name] != null).map((name) => [
      name,
      `${name} goes with spacingM, but a quantity per metre is demanded`,
    ]);
  return [
    ...(quantityPerM == null
      ? []
      : [['spacingM', 'spacingM and quantityPerM exclude each other'] as [Name, string]]),
    ...(tolerancePercent == null || Number(tolerancePercent) === 0
      ? []
      : [
          ['tolerancePercent', 'tolerancePercent goes with quantityPerM; a spacing has toleranceM'] as [
            Name,
            string,
          ],
        ]),
    ...(unit === 'nr'
      ? []
      : [['spacingM', `${item} is measured in ${unit}: only pieces have a spacing`] as [Name, string]]),
    ...(piecesPerRow == null || aroundSpacingM == null
      ? []
      : [
          [
            'piecesPerRow',
            'piecesPerRow and aroundSpacingM exclude each other: pieces in a row follow from the arc',
          ] as [Name, string],
        ]),
    ...(demand.aroundToleranceM == null || aroundSpacingM != null
      ? []
      : [['aroundToleranceM', 'aroundToleranceM goes with aroundSpacingM'] as [Name, string]]),
    ...((fromDeg == null) === (toDeg == null)
      ? []
      : [[fromDeg == null ? 'fromDeg' : 'toDeg', 'a sector has both fromDeg and toDeg'] as [Name, string]]),
    ...(fromDeg != null && toDeg != null && Number(fromDeg) === Number(toDeg)
      ? [['toDeg', 'a sector must not end where it begins: omit both for the whole ring'] as [Name, string]]
      : []),
  ];
};

/** Unchanged rows keep their identity, so that the history shows no change where nothing differs. */
const replacing = (table: Table): string => `with given as (
    select i.id, i.unit, r.zone, r."quantityPerM" as quantity, coalesce(r."tolerancePercent", 0) as tolerance, r."spacingM" as spacing,
      case when r."spacingM" is not null then coalesce(r."toleranceM", 0) end as spacing_tolerance,
      case when r."spacingM" is not null and r."aroundSpacingM" is null then coalesce(r."piecesPerRow", 1) end as pieces, r."fromDeg" as from_deg, r."toDeg" as to_deg,
      r."aroundSpacingM" as around, case when r."aroundSpacingM" is not null then coalesce(r."aroundToleranceM", 0) end as around_tolerance
    from jsonb_to_recordset($2::jsonb) as r(item text, zone text, "quantityPerM" numeric, "tolerancePercent" numeric, "spacingM" numeric, "toleranceM" numeric,
      "piecesPerRow" int, "fromDeg" numeric, "toDeg" numeric, "aroundSpacingM" numeric, "aroundToleranceM" numeric)
    join support_item i on i.code = r.item
  ), gone as (
    delete from ${table} t where t.${OWNERS[table]} = $1
      and not exists (select from given g where g.id = t.support_item_id and g.zone = t.zone and g.from_deg is not distinct from t.from_deg)
  )
  insert into ${table} (${OWNERS[table]}, support_item_id, unit, zone, quantity_per_m, tolerance_percent, spacing_m, spacing_tolerance_m, pieces_per_row, from_deg, to_deg,
    around_spacing_m, around_tolerance_m)
  select $1, id, unit, zone, quantity, tolerance, spacing, spacing_tolerance, pieces, from_deg, to_deg, around, around_tolerance from given
  on conflict (${OWNERS[table]}, support_item_id, zone, from_deg)
    do update set quantity_per_m = excluded.quantity_per_m, tolerance_percent = excluded.tolerance_percent, spacing_m = excluded.spacing_m,
      spacing_tolerance_m = excluded.spacing_tolerance_m, pieces_per_row = excluded.pieces_per_row, to_deg = excluded.to_deg,
      around_spacing_m = excluded.around_spacing_m, around_tolerance_m = excluded.around_tolerance_m`;

/** Replaces the list. */
export const replaceDemand = async (
  transaction: Transaction,
  table: Table,
  owner: number,
  items: readonly DemandedSupportInput[],
): Promise<void> => {
  await transaction.$executeRawUnsafe(replacing(table), owner, JSON.stringify(items));
};

/** SQL: the list of an owner, in the form of the answer. */
export const demandOf = (table: Table, owner: string): string => `(
  select coalesce(json_agg(json_strip_nulls(json_build_object('item', i.code, 'zone', r.zone, 'unit', r.unit, 'quantityPerM', r.quantity_per_m::text,
    'tolerancePercent', case when r.spacing_m is null then r.tolerance_percent::text end, 'spacingM', r.spacing_m::text, 'toleranceM', r.spacing_tolerance_m::text,
    'piecesPerRow', r.pieces_per_row, 'aroundSpacingM', r.around_spacing_m::text, 'aroundToleranceM', r.around_tolerance_m::text, 'fromDeg', r.from_deg::text, 'toDeg', r.to_deg::text)) order by r.zone, i.code, r.from_deg), '[]')
  from ${table} r join support_item i on i.id = r.support_item_id where r.${OWNERS[table]} = ${owner})`;
