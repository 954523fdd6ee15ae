import type { AccountLine } from './account.js';
import { documentWith, SOURCE_COLUMNS } from '../valuation-sql.js';

/** The data of a valuation document, from schema report. $1 is the drive's id, $2 the number of the valuation. */

const local = (column: string): string =>
  `to_char(${column} at time zone p.time_zone, 'YYYY-MM-DD HH24:MI') as "${column.replace(/_(.)/g, (_, letter: string) => letter.toUpperCase())}"`;

export const HEADING = `select p.name as "projectName", d.name as "driveName", p.time_zone as "timeZone", p.signatures_by_one_party as "oneParty",
  ${['prepared_at', 'agreed_at', 'certified_at'].map(local).join(', ')}
  from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id where v.drive_id = $1 and v.number = $2`;

export const VERSIONS = `select b.version, b.valid_from as "validFrom" from bill b join valuation v on v.drive_id = b.drive_id and b.valid_from <= v.cut_off
  where b.drive_id = $1 and v.number = $2 order by b.valid_from`;

/** Numbers keep the decimals of the document's lines. */
const text = (name: string, column: string): string => `'${name}', ${column}::text`;

const sums = (kind: 'group' | 'version' | 'carried'): string =>
  `'${kind}Sums', json_build_object(${text('previous', `${kind}_previous_amount`)}, ${text('period', `${kind}_amount`)}, ${text('toDate', `${kind}_to_date_amount`)})`;

const FIELDS = [
  `'version', bill_version`,
  `'groupCode', group_code`,
  `'groupTitle', group_title`,
  `'reference', reference`,
  `'description', description`,
  `'unit', unit`,
  text('rate', 'rate'),
  text('billQuantity', 'bill_quantity'),
  text('previousQuantity', 'previous_quantity'),
  text('quantity', 'quantity'),
  text('toDateQuantity', 'to_date_quantity'),
  text('heldQuantity', 'held_quantity'),
  text('percentOfBill', 'percent_of_bill'),
  text('previousAmount', 'previous_amount'),
  text('amount', 'amount'),
  text('toDateAmount', 'to_date_amount'),
  sums('group'),
  sums('version'),
  sums('carried'),
  `'incompleteCount', coalesce(incomplete_count, 0)`,
  `'basis', basis`,
  `'contested', contested`,
  `'roundedWith', rounded_with`,
  `'deemedShifts', deemed_shifts`,
];

/** A valuation with its lines, from a single computation. */
export const ACCOUNT = documentWith<AccountLine>(
  `(select coalesce(json_agg(json_build_object(${FIELDS.join(', ')}) order by line_number), '[]') from valuation_account_of(lines))`,
);

/** $3: how many records. Only these are put into words, and only items that may have some of them are sorted: most records of a drive belong to later lines. */
export const EVIDENCE = `with source as materialized (
    select * from valuation_source_of($1, $2, '')
  ), item as materialized (
    select i.id as pay_item_id, i.unit, b.valid_from, i.position, sum(n.records) over () as of_all,
      coalesce(sum(n.records) over (order by b.valid_from, i.position groups between unbounded preceding and 1 preceding), 0) as before
    from (select pay_item_id, count(*) as records from source group by pay_item_id) n
    join pay_item i on i.id = n.pay_item_id
    join bill b on b.id = i.bill_id
  )
  select s.reference, ${SOURCE_COLUMNS},
  case r.dimension::text when 'count' then 'nr' when 'length' then 'm' when 'area' then 'm2' when 'volume' then 'm3' when 'mass' then 'kg'
    when 'hours' then 's' else s.unit end as "baseUnit", s.of_all::int as "ofAll"
  from (
    select s.*, i.unit, i.valid_from, i.position, i.of_all
    from source s join item i on i.pay_item_id = s.pay_item_id and i.before < $3::int
    order by i.valid_from, i.position, s.source_key collate "C", s.class_code collate "C" nulls first limit $3::int
  ) s
  left join measurement_rule r on r.pay_item_id = s.pay_item_id
  order by s.valid_from, s.position, s.source_key collate "C", s.class_code collate "C" nulls first`;
