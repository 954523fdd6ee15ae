import { faulty } from '../../../common/api/problem.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import type { Database } from '../../../common/database/database.js';
import type { SupportUnit } from '../../../generated/prisma/enums.js';

interface Use {
  by: 'countersigned' | 'standard' | 'section' | 'positions' | 'volume' | 'quantity';
  /** of the item as it stands */
  unit: SupportUnit;
  quantity: string | null;
  /** of a ground class or a design section */
  name: string | null;
  drive: string | null;
  date: string | null;
  shift: string | null;
}

/** What does not let item $1 take the unit $2: the last countersigned shift with it, what demands it, the last line that cannot be in that unit. */
const USES = `with item as (select * from support_item where code = $1 and unit <> $2::support_unit),
  line as (
    select s.state, i.unit, u.quantity, d.code as drive, s.shift_date, s.starts_at, n.name as shift,
      case when $2 <> 'nr' and num_nonnulls(u.positions_m, u.arc_positions_deg) > 0 then 'positions'
        when $2 not in ('m2', 'm3') and u.delivered_volume_m3 is not null then 'volume'
        when $2 = 'nr' and (u.quantity <> trunc(u.quantity) or u.quantity > 10000) then 'quantity' end as by
    from item i join support_installed u on u.support_item_id = i.id join shift s on s.id = u.shift_id
    join calendar_shift n on n.id = s.calendar_shift_id join drive d on d.id = s.drive_id
  )
  (select 1 as nth, 'countersigned' as by, unit, null::text as quantity, null as name, drive, shift_date as date, shift from line
    where state = 'countersigned' order by shift_date desc, starts_at desc limit 1)
  union all
  (select 2, 'standard', i.unit, null, g.code, null, null, null from item i join standard_support_item t on t.support_item_id = i.id
    join standard_support s on s.id = t.standard_support_id join ground_class g on g.id = s.ground_class_id order by g.code limit 1)
  union all
  (select 3, 'section', i.unit, null, s.name, d.code, null, null from item i join design_section_item t on t.support_item_id = i.id
    join design_section s on s.id = t.design_section_id join drive d on d.id = s.drive_id order by d.code, s.name limit 1)
  union all
  (select 4, by, unit, quantity::text, null, drive, shift_date, shift from line where by is not null order by shift_date desc, starts_at desc limit 1)
  order by nth limit 1`;

const inWords = ({ by, unit, quantity, name, drive, date, shift }: Use): string => {
  const where = `in shift ${date} ${shift} of drive ${drive}`;
  switch (by) {
    case 'countersigned':
      return `is in ${unit} ${where}, which is countersigned`;
    case 'standard':
      return `is demanded in ${unit} per metre by the standard support of ground class ${name}`;
    case 'section':
      return `is demanded in ${unit} per metre by design section ${name} of drive ${drive}`;
    case 'positions':
      return `has the positions of its pieces ${where}, which only an item in nr has`;
    case 'volume':
      return `has a delivered volume ${where}, which only an item in m2 or m3 has`;
    case 'quantity':
      return `has the quantity ${quantity} ${where}, and an item in nr has whole numbers up to 10000`;
  }
};

/** The refusal of an item: of its new unit, where the record still has it in the old one. @param error  of the write */
export const refusalOfItem = async (
  database: Database,
  code: string,
  unit: SupportUnit,
  error: unknown,
): Promise<unknown> => {
  if (!['locked', 'conflict'].includes(toProblemError(error).code)) return error;
  const [use] = await database.read<Use>(USES, code, unit);
  if (!use) return error;
  const detail = `${code} ${inWords(use)}: its unit cannot change`;
  return faulty(use.by === 'countersigned' ? 'locked' : 'conflict', [
    { in: 'body', pointer: '/unit', value: unit, detail },
  ]);
};
