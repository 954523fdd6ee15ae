/** The figures of schema report as the answers have them. $1 is the drive's id. */

const HEAD_FIELDS = `valuation_number as number, state, cut_off as "cutOff", remark, currency, previous_amount::text as "previousAmount",
  amount::text as amount, to_date_amount::text as "toDateAmount", held_count as "heldCount", open_shift_count as "openShiftCount", prepared_by as "preparedBy", prepared_at as "preparedAt",
  agreed_by as "agreedBy", agreed_at as "agreedAt", certified_by as "certifiedBy", certified_at as "certifiedAt", measured_change as "measuredChange",
  seal, coalesce(agreed_seal <> seal, false) as "changedSinceAgreed",
  prepared_for as "preparedFor", agreed_for as "agreedFor", certified_for as "certifiedFor", signatures,
  probe_holes_without_time as "probeHolesWithoutTime", deemed_shift_count as "deemedShiftCount"`;

export const HEADS = `select ${HEAD_FIELDS} from valuation_summary where drive_id = $1 order by valuation_number`;

export const HEAD = `select ${HEAD_FIELDS} from valuation_summary where drive_id = $1 and valuation_number = $2`;

/** With its lines, as the expression has them of the view's: one computation of all. */
export const documentWith = (lines: string): string =>
  `select ${HEAD_FIELDS}, ${lines} as lines from valuation_document where drive_id = $1 and valuation_number = $2`;

export const DOCUMENT = documentWith('lines');

/** Of valuation_source_of, which goes by the name s. */
export const SOURCE_FIELDS = `s.bill_version as version, s.source, s.source_key as "sourceKey", s.effect, s.class_code as "groundClass", s.shift_date as "shiftDate",
  s.shift_name as "shiftName", chainage_text(s.from_chainage_m) as "fromChainage", chainage_text(s.to_chainage_m) as "toChainage",
  trim_scale(s.previous_quantity)::text as "previousQuantity", trim_scale(s.quantity)::text as quantity, trim_scale(s.to_date_quantity)::text as "toDateQuantity",
  trim_scale(s.held_quantity)::text as "heldQuantity", s.basis, coalesce(s.contested, '[]') as contested`;

/** Only what is answered is put into words. */
export const SOURCES = `select s.ordinal, ${SOURCE_FIELDS}
  from (
    select s.*, (row_number() over (order by s.source_key collate "C", s.class_code collate "C" nulls first, s.bill_version collate "C"))::int as ordinal
    from valuation_source_of($1, $2, $3) s
  ) s
  where s.ordinal > $4 order by s.ordinal limit $5`;

/** Whether an item, $3, has a line in a valuation. */
export const HAS_LINE = `select 1 as found from pay_item i join bill b on b.id = i.bill_id join valuation v on v.drive_id = b.drive_id
  where b.drive_id = $1 and v.number = $2 and i.reference = $3 and b.valid_from <= v.cut_off limit 1`;

export const BY_CLASS = `select bill_version as version, reference, unit, ground_class_code as "groundClass", trim_scale(quantity)::text as quantity,
  trim_scale(held_quantity)::text as "heldQuantity" from valuation_by_class($1, $2, $3) order by bill_version, reference, ground_class_code nulls first`;

export const BY_INTERVAL = `select bill_version as version, reference, unit, chainage_text(from_chainage_m) as "fromChainage",
  chainage_text(to_chainage_m) as "toChainage", trim_scale(quantity)::text as quantity, trim_scale(held_quantity)::text as "heldQuantity"
  from valuation_by_interval($1, $2, $3, $4::numeric) order by bill_version, reference, from_m nulls first`;

export const FORECAST = `select bill_version as version, reference, group_code as "groupCode", group_title as "groupTitle", description, unit, currency,
  trim_scale(bill_quantity)::text as "billQuantity", to_date_quantity::text as "toDateQuantity", held_quantity::text as "heldQuantity",
  remaining_quantity::text as "remainingQuantity", forecast_quantity::text as "forecastQuantity", basis, bill_amount::text as "billAmount",
  to_date_amount::text as "toDateAmount", forecast_amount::text as "forecastAmount", remaining_m::text as "remainingM"
  from forecast_at_completion($1, $2, $3, $4) order by bill_valid_from, bill_position`;

/** What a verification compares, by line. */
export const SEALED = `select bill_version as version, reference, trim_scale(exact_quantity)::text as "exactQuantity", trim_scale(previous_quantity)::text as "previousQuantity",
  trim_scale(to_date_quantity)::text as "toDateQuantity", trim_scale(held_quantity)::text as "heldQuantity", trim_scale(previous_amount)::text as "previousAmount",
  trim_scale(to_date_amount)::text as "toDateAmount", source_count as "sourceCount", digest
  from valuation_line where drive_id = $1 and valuation_number = $2 order by bill_valid_from, reference`;

/** The digest of the source records as they stand in the database, by line. */
export const SOURCE_DIGESTS = `select b.version, i.reference, encode(sha256(coalesce(string_agg(source_seal(s.reference, s.source_key, s.class_code, s.sequence, s.previous_quantity,
    s.to_date_quantity), ''::bytea order by s.source_key collate "C", s.class_code collate "C")
    filter (where s.source_key is not null), '')), 'hex') as digest
  from certified_line l join valuation v on v.id = l.valuation_id join pay_item i on i.id = l.pay_item_id join bill b on b.id = i.bill_id
  left join certified_source s on s.valuation_id = l.valuation_id and s.pay_item_id = l.pay_item_id
  where v.drive_id = $1 and v.number = $2 group by b.version, i.reference`;

export const STANDING = `select v.id, v.state, v.digest, v.measured_change as "measuredChange" from valuation v where v.drive_id = $1 and v.number = $2`;

/** Whether a valuation stands as it is put: it then keeps its signatures, and those that follow it are of no matter. */
export const STANDS = `select from valuation where drive_id = $1 and number = $2 and cut_off = $3::date and remark is not distinct from $4`;

export const WRITE = `insert into valuation (drive_id, number, cut_off, remark) values ($1, $2, $3::date, $4)
  on conflict (drive_id, number) do update set cut_off = excluded.cut_off, remark = excluded.remark, state = 'draft'
  returning xmax = 0 as created`;

export const REMOVE = 'delete from valuation where drive_id = $1 and number = $2 returning id';

export const AGREE = `update valuation set state = 'agreed', digest = $2 where id = $1`;

/** Over the lines as they were written. */
export const SEAL_WRITTEN = `select encode(sha256(string_agg(line_seal(b.version, i.reference, l.exact_quantity, l.to_date_quantity, l.held_quantity, l.previous_amount,
    l.to_date_amount, l.digest), ''::bytea order by b.valid_from, i.reference collate "C")), 'hex') as seal
  from certified_line l join pay_item i on i.id = l.pay_item_id join bill b on b.id = i.bill_id where l.valuation_id = $1`;

/** What stands is then the record after this change; asked once the history is held, as a statement sees what stood when it began. */
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
