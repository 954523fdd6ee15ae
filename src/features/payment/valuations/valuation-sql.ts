import { columnsOf, extra, type Reading, sql } from '../../../common/database/reading.js';
import { ForecastLine } from './forecast.models.js';
import {
  ClassQuantity,
  IntervalQuantity,
  LineSource,
  ValuationHead,
  type ValuationLine,
} from './valuation.models.js';

/** The figures of schema report in the form of the answers. $1 is the drive's id. */

const HEAD_COLUMNS = columnsOf(ValuationHead, '', {
  number: 'valuation_number',
  changedSinceAgreed: 'coalesce(agreed_seal <> seal, false)',
});

export const HEADS = sql`select ${HEAD_COLUMNS} from valuation_summary where drive_id = $1 order by valuation_number`;

export const HEAD = sql`select ${HEAD_COLUMNS} from valuation_summary where drive_id = $1 and valuation_number = $2`;

/** With its lines, each made by the expression from a row of the view: computed once for all. */
export const documentWith = <Line>(lines: string): Reading<ValuationHead & { lines: Line[] }> =>
  sql`select ${HEAD_COLUMNS.and(extra<{ lines: Line[] }>({ lines }))} from valuation_document where drive_id = $1 and valuation_number = $2`;

export const DOCUMENT = documentWith<ValuationLine>('lines');

/** For valuation_source_of, under the alias s. */
const SOURCE_READS = {
  version: 'bill_version',
  groundClass: 'class_code',
  previousQuantity: 'trim_scale(s.previous_quantity)',
  quantity: 'trim_scale(s.quantity)',
  toDateQuantity: 'trim_scale(s.to_date_quantity)',
  heldQuantity: 'trim_scale(s.held_quantity)',
  contested: { as: `coalesce(s.contested, '[]')` },
} as const;

/** A source without its number in the list. */
export const SOURCE_COLUMNS = columnsOf(LineSource, 's', { ...SOURCE_READS, ordinal: false });

/** Only rows that are answered are put into words. */
export const SOURCES = sql`select ${columnsOf(LineSource, 's', SOURCE_READS)}
  from (
    select s.*, (row_number() over (order by s.source_key collate "C", s.class_code collate "C" nulls first, s.bill_version collate "C"))::int as ordinal
    from valuation_source_of($1, $2, $3) s
  ) s
  where s.ordinal > $4 order by s.ordinal limit $5`;

/** Whether an item, $3, has a line in a valuation. */
export const HAS_LINE = `select 1 as found from pay_item i join bill b on b.id = i.bill_id join valuation v on v.drive_id = b.drive_id
  where b.drive_id = $1 and v.number = $2 and i.reference = $3 and b.valid_from <= v.cut_off limit 1`;

const OF_ITEM = {
  version: 'bill_version',
  quantity: 'trim_scale(quantity)',
  heldQuantity: 'trim_scale(held_quantity)',
} as const;

export const BY_CLASS = sql`select ${columnsOf(ClassQuantity, '', OF_ITEM)}
  from valuation_by_class($1, $2, $3) order by bill_version, reference, ground_class_code nulls first`;

export const BY_INTERVAL = sql`select ${columnsOf(IntervalQuantity, '', OF_ITEM)}
  from valuation_by_interval($1, $2, $3, $4::numeric) order by bill_version, reference, from_m nulls first`;

export const FORECAST = sql`select ${columnsOf(ForecastLine, '', { version: 'bill_version', billQuantity: 'trim_scale(bill_quantity)' })}
  from forecast_at_completion($1, $2, $3, $4) order by bill_valid_from, bill_position`;

/** The values compared by a verification, by line. */
export const SEALED = `select bill_version as version, reference, trim_scale(exact_quantity)::text as "exactQuantity", trim_scale(previous_quantity)::text as "previousQuantity",
  trim_scale(to_date_quantity)::text as "toDateQuantity", trim_scale(held_quantity)::text as "heldQuantity", trim_scale(previous_amount)::text as "previousAmount",
  trim_scale(to_date_amount)::text as "toDateAmount", source_count as "sourceCount", digest
  from valuation_line where drive_id = $1 and valuation_number = $2 order by bill_valid_from, reference`;

/** The digest of the current source records in the database, by line. */
export const SOURCE_DIGESTS = `select b.version, i.reference, encode(sha256(coalesce(string_agg(source_seal(s.reference, s.source_key, s.class_code, s.sequence, s.previous_quantity,
    s.to_date_quantity), ''::bytea order by s.source_key collate "C", s.class_code collate "C")
    filter (where s.source_key is not null), '')), 'hex') as digest
  from certified_line l join valuation v on v.id = l.valuation_id join pay_item i on i.id = l.pay_item_id join bill b on b.id = i.bill_id
  left join certified_source s on s.valuation_id = l.valuation_id and s.pay_item_id = l.pay_item_id
  where v.drive_id = $1 and v.number = $2 group by b.version, i.reference`;

export const STANDING = `select v.id, v.state, v.digest, v.measured_change as "measuredChange" from valuation v where v.drive_id = $1 and v.number = $2`;

/** Whether the stored valuation equals the one being put: then it keeps its signatures, and later valuations do not matter. */
export const STANDS = `select from valuation where drive_id = $1 and number = $2 and cut_off = $3::date and remark is not distinct from $4`;

export const WRITE = `insert into valuation (drive_id, number, cut_off, remark) values ($1, $2, $3::date, $4)
  on conflict (drive_id, number) do update set cut_off = excluded.cut_off, remark = excluded.remark, state = 'draft'
  returning xmax = 0 as created`;

export const REMOVE = 'delete from valuation where drive_id = $1 and number = $2 returning id';

export const AGREE = `update valuation set state = 'agreed', digest = $2 where id = $1`;

/** Over the lines as they were stored. */
export const SEAL_WRITTEN = `select encode(sha256(string_agg(line_seal(b.version, i.reference, l.exact_quantity, l.to_date_quantity, l.held_quantity, l.previous_amount,
    l.to_date_amount, l.digest), ''::bytea order by b.valid_from, i.reference collate "C")), 'hex') as seal
  from certified_line l join pay_item i on i.id = l.pay_item_id join bill b on b.id = i.bill_id where l.valuation_id = $1`;

/** The last change, after which the record is in its current state. Ask once the history is locked: a statement sees the state from when it began. */
export const STANDING_CHANGE = `select coalesce(max(number), 0)::int as change from history.change where project_id = scope_project() and hash is not null`;

export const WRITE_LINES = `insert into certified_line (drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
    held_quantity, previous_amount, amount, to_date_amount, source_count, digest, basis, contested, rounded_with, deemed_shifts)
  select v.drive_id, v.id, l.pay_item_id, l.exact_quantity, l.base_per_unit, l.previous_quantity, l.quantity, l.to_date_quantity, l.held_quantity,
    l.previous_amount, l.amount, l.to_date_amount, l.source_count, l.digest, l.basis, l.contested, l.rounded_with, l.deemed_shifts
  from valuation v cross join lateral draft_line_of(v.drive_id, v.cut_off) l where v.id = $1`;

export const WRITE_SOURCES = `insert into certified_source (drive_id, valuation_id, pay_item_id, reference, source, source_key, class_code, sequence, shift_date,
    shift_name, from_m, to_m, previous_quantity, quantity, to_date_quantity, basis, contested)
  select v.drive_id, v.id, s.pay_item_id, s.reference, s.source::measure_source, s.source_key, s.class_code, s.sequence, s.shift_date, s.shift_name, s.from_m,
    s.to_m, s.previous_quantity, s.quantity, s.to_date_quantity, s.basis, s.contested
  from valuation v cross join lateral draft_source_of(v.drive_id, v.cut_off, '') s where v.id = $1 and s.quantity <> 0`;

export const CERTIFY = `update valuation set state = 'certified', measured_change = $2 where id = $1`;
