import { Injectable } from '@nestjs/common';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import type { MeasurementCheck, MeasurementRule, MeasurementRuleInput } from './measurement.models.js';
import { type RuleContext, ruleFaults } from './rule-faults.js';
import { ruleSentence } from './rule-words.js';
import { scope } from '../../../common/database/scope.js';

/** A row without a rule represents a bill that has none. */
const RULES = `select b.version, i.reference, i.description, i.unit, i.decimals, r.source, r.dimension, r.items, r.kinds, r.zones, r.classes, r.lithologies,
  r.activities, r.time_classes as "timeClasses", r.parties, r.methods, r.purposes, r.materials, trim_scale(r.pay_diameter_m)::text as "payDiameterM", trim_scale(r.allowance_percent)::text as "allowancePercent",
  trim_scale(r.min_per_m)::text as "minPerM", trim_scale(r.max_per_m)::text as "maxPerM"
  from bill b left join (measurement_rule r join pay_item i on i.id = r.pay_item_id) on i.bill_id = b.id and r.drive_id = b.drive_id
  where b.drive_id = $1 and b.version = $2 order by i.position`;

const ITEM = `select i.id, i.unit from pay_item i join bill b on b.id = i.bill_id where b.drive_id = $1 and b.version = $2 and i.reference = $3`;

const CONTEXT = `select (select coalesce(json_agg(json_build_object('code', i.code, 'unit', i.unit, 'hasLength', i.length_m is not null,
    'hasMass', support_per_unit('mass', i.unit::text, i.length_m, i.mass_kg_per_m, i.mass_kg_per_m2, i.mass_kg, i.centre_line_diameter_m, null) is not null)),
    '[]') from support_item i) as items,
  (select coalesce(json_agg(code order by code), '[]') from working_zone) as zones,
  (select coalesce(json_agg(code), '[]') from ground_class) as classes, (select coalesce(json_agg(code), '[]') from activity_code) as activities`;

const PUT = `insert into measurement_rule (drive_id, pay_item_id, source, dimension, items, kinds, zones, classes, lithologies, activities, time_classes,
    parties, methods, purposes, materials, pay_diameter_m, allowance_percent, min_per_m, max_per_m)
  select $1, $2, r.* from jsonb_to_record($3::jsonb) as r(source measure_source, dimension measure_dimension, items text[], kinds text[], zones text[],
    classes text[], lithologies text[], activities text[], "timeClasses" text[], parties text[], methods text[], purposes text[], materials text[], "payDiameterM" numeric, "allowancePercent" numeric,
    "minPerM" numeric, "maxPerM" numeric)
  on conflict (pay_item_id, project_id) do update set source = excluded.source, dimension = excluded.dimension, items = excluded.items, kinds = excluded.kinds,
    zones = excluded.zones, classes = excluded.classes, lithologies = excluded.lithologies, activities = excluded.activities,
    time_classes = excluded.time_classes, parties = excluded.parties, methods = excluded.methods, purposes = excluded.purposes,
    materials = excluded.materials, pay_diameter_m = excluded.pay_diameter_m,
    allowance_percent = excluded.allowance_percent, min_per_m = excluded.min_per_m, max_per_m = excluded.max_per_m`;

const REMOVE = 'delete from measurement_rule where pay_item_id = $1 returning id';

/** All results of measuring the record once. */
const CHECK = `with found as materialized (select * from measure_check_of($1, $2, $3::date))
  select (select coalesce(json_agg(json_build_object('version', bill_version, 'reference', reference, 'recordCount', record_count,
      'quantity', trim_scale(quantity)::text, 'heldQuantity', trim_scale(held_quantity)::text, 'unit', unit, 'incompleteCount', incomplete_count)
      order by bill_version, reference), '[]') from found where part = 'rule') as rules,
    (select coalesce(json_agg(json_build_object('source', source, 'code', code, 'recordCount', record_count, 'firstKey', first_key, 'lastKey', last_key,
      'reason', reason) order by source, code, reason), '[]') from found where part = 'unmeasured') as unmeasured,
    (select coalesce(json_agg(json_build_object('version', bill_version, 'reference', reference, 'otherReference', other_reference,
      'recordCount', record_count, 'firstKey', first_key) order by bill_version, reference, other_reference), '[]') from found where part = 'twice') as twice,
    (select coalesce(json_agg(json_build_object('version', bill_version, 'references', reference_list, 'step', trim_scale(step)::text)
      order by bill_version, reference_list), '[]') from found where part = 'decimals') as "mixedDecimals"`;

type StoredRule = { [K in keyof MeasurementRule]: MeasurementRule[K] | null } & {
  unit: string;
  decimals: number;
};

/** How the items of a bill are measured, and which records their rules cover. */
@Injectable()
export class MeasurementService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  async list(drive: string, version: string): Promise<MeasurementRule[]> {
    const rows = await this.drives.read<StoredRule | { reference: null }>(drive, RULES, version);
    if (rows.length === 0) throw notFound(`bill ${version} of drive ${drive}`);
    return rows.filter((row): row is StoredRule => row.reference !== null).map(ruleOf);
  }

  async get(drive: string, version: string, reference: string): Promise<MeasurementRule> {
    const found = (await this.list(drive, version)).find((rule) => rule.reference === reference);
    if (!found) throw notFound(`measurement rule of item ${reference} in bill ${version} of drive ${drive}`);
    return found;
  }

  async put(
    drive: string,
    version: string,
    reference: string,
    input: MeasurementRuleInput,
  ): Promise<MeasurementRule> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const item = await payItem(transaction, driveId, drive, version, reference);
      const [context] = await readRows<Omit<RuleContext, 'unit'>>(transaction, CONTEXT);
      const faults = ruleFaults(input, {
        unit: item.unit,
        ...(context ?? { items: [], zones: [], classes: [], activities: [] }),
      });
      if (faults.length > 0) throw faulty('invalid', faults);
      await transaction.$executeRawUnsafe(PUT, driveId, item.id, JSON.stringify(input));
    });
    return this.get(drive, version, reference);
  }

  async remove(drive: string, version: string, reference: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { id } = await payItem(transaction, driveId, drive, version, reference);
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, id);
      if (gone.length === 0)
        throw notFound(`measurement rule of item ${reference} in bill ${version} of drive ${drive}`);
    });
  }

  /** What the rules would measure up to a date; writes nothing. */
  async check(drive: string, until: string): Promise<MeasurementCheck> {
    const [found] = await this.drives.reading(drive, (_, statements) =>
      readRows<MeasurementCheck>(statements, CHECK, scope().project, drive, until),
    );
    if (!found) throw new Error('a check of measurement is one row');
    return found;
  }
}

const payItem = async (
  transaction: Transaction,
  driveId: number,
  drive: string,
  version: string,
  reference: string,
): Promise<{ id: number; unit: string }> => {
  const [item] = await transaction.$queryRawUnsafe<{ id: number; unit: string }[]>(
    ITEM,
    driveId,
    version,
    reference,
  );
  if (!item) throw notFound(`item ${reference} in bill ${version} of drive ${drive}`);
  return item;
};

/** A rule without the properties that it leaves open. */
const ruleOf = ({ decimals, ...stored }: StoredRule): MeasurementRule => {
  const rule = Object.fromEntries(
    Object.entries(stored).filter(([, value]) => value !== null),
  ) as unknown as MeasurementRule;
  return { ...rule, sentence: ruleSentence(rule, { unit: rule.unit, decimals }) };
};
