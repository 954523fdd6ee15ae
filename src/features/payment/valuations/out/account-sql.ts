import { documentWith, SOURCE_FIELDS } from '../valuation-sql.js';

/** What a valuation is paid by, from schema report. $1 is the drive's id, $2 the number of the valuation. */

const local = (column: string): string =>
  `to_char(${column} at time zone p.time_zone, 'YYYY-MM-DD HH24:MI') as "${column.replace(/_(.)/g, (_, letter: string) => letter.toUpperCase())}"`;

export const HEADING = `select p.name as "projectName", d.name as "driveName", p.time_zone as "timeZone", p.signatures_by_one_party as "oneParty",
  ${['prepared_at', 'agreed_at', 'certified_at'].map(local).join(', ')}
  from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id where v.drive_id = $1 and v.number = $2`;

export const VERSIONS = `select b.version, b.valid_from as "validFrom" from bill b join valuation v on v.drive_id = b.drive_id and b.valid_from <= v.cut_off
  where b.drive_id = $1 and v.number = $2 order by b.valid_from`;

/** Numbers keep the decimals that the lines of the document have. */
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

/** A valuation with its lines, all of one computation. */
export const ACCOUNT = documentWith(
  `(select coalesce(json_agg(json_build_object(${FIELDS.join(', ')}) order by line_number), '[]') from valuation_account_of(lines))`,
);

/** $3 is how many of them. Only those are put into words. */
export const EVIDENCE = `select s.reference, ${SOURCE_FIELDS},
  case r.dimension::text when 'count' then 'nr' when 'length' then 'm' when 'area' then 'm2' when 'volume' then 'm3' when 'mass' then 'kg'
    when 'hours' then 's' else s.unit end as "baseUnit", s.of_all as "ofAll"
  from (
    select s.*, i.unit, b.valid_from, i.position, (count(*) over ())::int as of_all
    from valuation_source_of($1, $2, '') s join pay_item i on i.id = s.pay_item_id join bill b on b.id = i.bill_id
    order by b.valid_from, i.position, s.source_key collate "C", s.class_code collate "C" nulls first limit $3
  ) s
  left join measurement_rule r on r.pay_item_id = s.pay_item_id
  order by s.valid_from, s.position, s.source_key collate "C", s.class_code collate "C" nulls first`;
