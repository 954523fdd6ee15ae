import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { ChainageWindow } from '../../../common/api/chainage-window.js';
import { registerEnum } from '../../../common/api/enums.js';
import { CursorField, NextField } from '../../../common/api/cursor.js';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  NumberField,
  TextListField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { InflowMethod, InflowPlace } from '../../../generated/prisma/enums.js';

registerEnum(InflowPlace, {
  name: 'InflowPlace',
  description: 'Where inflow was measured.',
  values: {
    interval: 'Over an interval of the drive',
    hole: 'From a hole',
    portal: 'In all, at the weir of the portal or where the drive is drained',
  },
});

registerEnum(InflowMethod, {
  name: 'InflowMethod',
  description: 'How inflow was measured.',
  values: {
    bucket: 'Bucket and stopwatch',
    weir: 'Weir',
    flow_meter: 'Flow meter',
    pump_hours: 'Running hours of pumps',
    estimate: 'Estimate by eye',
    other: 'Another method, stated in the remark',
  },
});

const NAME = 'Name of the measurement in its drive';
const FLOW = { max: 9_999_999, optional: true } as const;

@ArgsType()
export class InflowPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@ArgsType()
export class TimedPageArgs {
  @IntField({
    description: 'Maximum number, up to 1000; 100 when not given',
    min: 1,
    max: 1000,
    optional: true,
  })
  first?: number;

  @CursorField()
  after?: string;
}

@InputType({ description: 'A measurement of inflow, as it was read.' })
@ObjectType({ isAbstract: true })
export class InflowMeasurementInput {
  @EnumField({ description: 'Where it was measured', values: InflowPlace, name: 'InflowPlace' })
  place: InflowPlace;

  @ChainageField({
    description: 'Where the interval begins, in the direction of the drive; of an interval only',
    optional: true,
  })
  from?: string;

  @ChainageField({ description: 'Where the interval ends', optional: true })
  to?: string;

  @CodeField({
    description: 'Name of the hole, of a hole only; it need not be a probe hole of the record',
    optional: true,
  })
  hole?: string;

  @EnumField({ description: 'How it was measured', values: InflowMethod, name: 'InflowMethod' })
  method: InflowMethod;

  @InstantField({ description: 'When it was measured' })
  measuredAt: string;

  @DecimalField({ description: 'Flow as read [l/min]', max: FLOW.max })
  flowLPerMin: string;

  @DecimalField({
    description: 'Water that the works brought in and that the reading at the portal contains [l/min]',
    ...FLOW,
  })
  serviceWaterLPerMin?: string;

  @TextField({ description: 'Who measured it', maxLength: 100, optional: true })
  measuredBy?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@ObjectType({ description: 'Water that flowed into the drive, as measured.' })
export class InflowMeasurement extends InflowMeasurementInput {
  @CodeField({ description: NAME })
  name: string;

  @DecimalField({ description: 'Flow without service water [l/min]' })
  inflowLPerMin: string;
}

@ObjectType({ description: 'A page of measurements of inflow, by time.' })
export class InflowMeasurementPage {
  @ListField(() => InflowMeasurement, { description: 'The measurements, by time and by name' })
  items: InflowMeasurement[];

  @NextField()
  next?: string;
}

export const INFLOW_CAUTION =
  'Decision support: the figures say what was measured. Gaps are metres that nobody measured, not dry ones; an older measurement stands until its place is ' +
  'measured again. What inflow means for support, grouting and pumping is for the project’s designer and the local code.';

@ObjectType({
  description: 'A stretch of the drive that one measurement governs, or a gap, from report.inflow_stretch.',
})
export class InflowStretch {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Its length [m]' })
  lengthM: string;

  @CodeField({
    description:
      'The measurement that governs it, the latest that covers it; absent: a gap, its inflow is not known',
    optional: true,
  })
  measurement?: string;

  @EnumField({
    description: 'How it was measured',
    values: InflowMethod,
    name: 'InflowMethod',
    optional: true,
  })
  method?: InflowMethod;

  @InstantField({ description: 'When it was measured', optional: true })
  measuredAt?: string;

  @DecimalField({ description: 'Share of the measurement by length [l/min]', optional: true })
  inflowLPerMin?: string;

  @DecimalField({ description: 'Inflow from the start of the drive to its end; gaps add nothing [l/min]' })
  cumulatedLPerMin: string;

  @IntField({ description: 'How many earlier measurements touch it' })
  supersededCount: number;

  @TextListField({ description: 'Of those, the ones with other ends: they overlap the one that governs' })
  overlapped: string[];
}

@ArgsType()
export class InflowIntervalArgs extends ChainageWindow {
  @NumberField({
    description: 'Length of the intervals; 100 when not given [m]',
    min: 1,
    max: 10_000,
    decimals: 3,
    optional: true,
  })
  lengthM?: number;
}

@ObjectType({ description: 'Inflow in an interval on round chainages, from report.inflow_in_intervals.' })
export class InflowInterval {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Metres that a measurement covers [m]' })
  measuredM: string;

  @DecimalField({ description: 'Metres behind the face that none covers [m]' })
  gapM: string;

  @DecimalField({ description: 'Inflow of the measured metres [l/min]' })
  inflowLPerMin: string;

  @DecimalField({
    description: 'Inflow per 100 m of the measured metres; absent where none is measured [l/min]',
    optional: true,
  })
  per100mLPerMin?: string;

  @DecimalField({ description: 'Inflow from the start of the drive to its end [l/min]' })
  cumulatedLPerMin: string;

  @InstantField({ description: 'When the latest measurement in it was made', optional: true })
  measuredAt?: string;
}

@ObjectType({ description: 'The latest inflow of a hole, from report.inflow_of_hole.' })
export class InflowOfHole {
  @CodeField({ description: 'Name of the hole' })
  hole: string;

  @DecimalField({ description: 'Inflow [l/min]' })
  inflowLPerMin: string;

  @InstantField({ description: 'When it was measured' })
  measuredAt: string;

  @CodeField({
    description: 'The measurement; absent: as noted with the probe hole when it was drilled, or by its log',
    optional: true,
  })
  measurement?: string;

  @EnumField({
    description: 'How it was measured',
    values: InflowMethod,
    name: 'InflowMethod',
    optional: true,
  })
  method?: InflowMethod;
}

@ObjectType({ description: 'Inflow of a drive against portal and pumps, from report.inflow_total.' })
export class InflowTotal {
  @DecimalField({ description: 'Sum of the stretches measured [l/min]' })
  inflowLPerMin: string;

  @DecimalField({ description: 'Metres that a measurement covers [m]' })
  measuredM: string;

  @DecimalField({ description: 'Metres behind the face that none covers [m]' })
  gapM: string;

  @CodeField({ description: 'Latest measurement at the portal', optional: true })
  portalMeasurement?: string;

  @InstantField({ description: 'When it was made', optional: true })
  portalMeasuredAt?: string;

  @DecimalField({ description: 'Its reading [l/min]', optional: true })
  portalFlowLPerMin?: string;

  @DecimalField({ description: 'Its reading without service water [l/min]', optional: true })
  portalInflowLPerMin?: string;

  @DecimalField({
    description:
      'Portal, without service water, less stretches: negative where less arrives than flows in [l/min]',
    min: -9_999_999,
    optional: true,
  })
  differenceLPerMin?: string;

  @DecimalField({ description: 'Larger of the two: what counts against the trigger [l/min]' })
  totalLPerMin: string;

  @DecimalField({ description: 'Larger of the portal, with service water, and the stretches [l/min]' })
  toPumpLPerMin: string;

  @DecimalField({ description: 'Installed pumping capacity in force [l/min]', optional: true })
  pumpingLPerMin?: string;

  @DecimalField({
    description: 'Pumping capacity less what is to be pumped; negative: more flows in than is pumped [l/min]',
    min: -9_999_999,
    optional: true,
  })
  reserveLPerMin?: string;

  @DecimalField({ description: 'Share of the pumping capacity in use [%]', decimals: 1, optional: true })
  pumpingUsedPercent?: string;

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

export const InflowTrigger = {
  per_100m: 'per_100m',
  hole: 'hole',
  total: 'total',
  pumping: 'pumping',
} as const;
export type InflowTrigger = (typeof InflowTrigger)[keyof typeof InflowTrigger];

registerEnum(InflowTrigger, {
  name: 'InflowTrigger',
  description: 'Which figure inflow exceeds.',
  values: {
    per_100m: 'Inflow per 100 m, in an interval of 100 m on round chainages',
    hole: 'Inflow of a hole',
    total: 'Inflow of the drive in all',
    pumping: 'Installed pumping capacity, by what is to be pumped',
  },
});

@ObjectType({ description: 'A trigger of inflow that is exceeded, from report.inflow_over_trigger.' })
export class InflowOverTrigger {
  @EnumField({ description: 'Which one', values: InflowTrigger, name: 'InflowTrigger' })
  kind: InflowTrigger;

  @ChainageField({ description: 'Where the interval begins', optional: true })
  from?: string;

  @ChainageField({ description: 'Where it ends', optional: true })
  to?: string;

  @CodeField({ description: 'Name of the hole', optional: true })
  hole?: string;

  @DecimalField({ description: 'What was measured; of per_100m, per 100 m of the measured metres [l/min]' })
  inflowLPerMin: string;

  @DecimalField({ description: 'What it exceeds [l/min]' })
  triggerLPerMin: string;

  @InstantField({ description: 'When it was measured, of several measurements the latest', optional: true })
  measuredAt?: string;
}
