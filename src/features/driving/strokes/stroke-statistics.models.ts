import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  ChainageField,
  CodeField,
  EnumField,
  IntField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';

export enum StatisticsCut {
  drive = 'drive',
  ground_class = 'ground-class',
  interval = 'interval',
}

registerEnum(StatisticsCut, {
  name: 'StatisticsCut',
  description:
    'Breakdown of the strokes. A stroke counts whole in the ground class or interval that holds its middle.',
  values: {
    drive: 'All strokes of the drive',
    ground_class: 'By ground class',
    interval: 'By interval on round chainages',
  },
});

/** The columns of report.stroke_performance with statistics, in the order of the report. */
export enum StrokeQuantity {
  penetration_mm_per_rev = 'penetration_mm_per_rev',
  penetration_rate_m_per_h = 'penetration_rate_m_per_h',
  timed_penetration_rate_m_per_h = 'timed_penetration_rate_m_per_h',
  thrust_kn = 'thrust_kn',
  thrust_per_disc_kn = 'thrust_per_disc_kn',
  torque_knm = 'torque_knm',
  power_kw = 'power_kw',
  torque_ratio = 'torque_ratio',
  regular_advance = 'regular_advance',
  specific_energy_mj_per_m3 = 'specific_energy_mj_per_m3',
  field_penetration_index = 'field_penetration_index',
  torque_penetration_index = 'torque_penetration_index',
  length_m = 'length_m',
  regrip_minutes = 'regrip_minutes',
  cycle_minutes = 'cycle_minutes',
}

registerEnum(StrokeQuantity, {
  name: 'StrokeQuantity',
  description:
    'Quantity of the statistics. Of regular_advance the means are shares: 1 when all were regular.',
  values: {
    penetration_mm_per_rev: 'Penetration [mm/rev]',
    penetration_rate_m_per_h: 'Net penetration rate from penetration and rotation [m/h]',
    timed_penetration_rate_m_per_h: 'Net penetration rate from length and boring time [m/h]',
    thrust_kn: 'Thrust [kN]',
    thrust_per_disc_kn: 'Thrust per disc cutter [kN]',
    torque_knm: 'Torque [kNm]',
    power_kw: 'Power of the cutterhead [kW]',
    specific_energy_mj_per_m3: 'Specific energy [MJ/m³]',
    field_penetration_index: 'Field penetration index [kN/(mm/rev)]',
    torque_penetration_index: 'Torque penetration index [kNm/(mm/rev)]',
    torque_ratio: 'Torque ratio',
    regular_advance: 'Share of strokes of regular advance',
    length_m: 'Length of the stroke [m]',
    cycle_minutes: 'From the beginning of a stroke to that of the next [min]',
    regrip_minutes: 'Time booked as regripping between a stroke and the next [min]',
  },
});

/** Default length of the intervals. [m] */
export const USUAL_INTERVAL_M = 100;

@ArgsType()
export class StatisticsArgs {
  @EnumField({
    description: 'Breakdown of the strokes; drive when not given',
    values: StatisticsCut,
    name: 'StatisticsCut',
    optional: true,
  })
  by?: StatisticsCut;

  @NumberField({
    description: `Length of the intervals, with by interval only; ${USUAL_INTERVAL_M} when not given [m]`,
    min: 1,
    max: 10_000,
    decimals: 3,
    optional: true,
  })
  lengthM?: number;
}

@ObjectType({
  description:
    'Statistics of one quantity over the strokes of a group, from report.stroke_statistics and the like. Percentiles are interpolated.',
})
export class StrokeStatistic {
  @CodeField({ description: 'Ground class of the group; absent where none is noted', optional: true })
  groundClass?: string;

  @ChainageField({ description: 'Where the interval begins, in the direction of the drive', optional: true })
  from?: string;

  @ChainageField({ description: 'Where it ends', optional: true })
  to?: string;

  @EnumField({ description: 'Quantity of the statistics', values: StrokeQuantity, name: 'StrokeQuantity' })
  quantity: StrokeQuantity;

  @TextField({ description: 'Unit of the figures', maxLength: 20 })
  unit: string;

  @IntField({ description: 'Strokes that have the quantity' })
  strokeCount: number;

  @NumberField({ description: 'Mean over the strokes, each counted once, in the unit' })
  mean: number;

  @NumberField({ description: 'Median, in the unit', optional: true })
  median?: number;

  @NumberField({ description: '10th percentile, in the unit', optional: true })
  p10?: number;

  @NumberField({ description: '90th percentile, in the unit', optional: true })
  p90?: number;

  @NumberField({ description: 'Mean weighted by length; absent for lengths and times', optional: true })
  lengthWeightedMean?: number;

  @NumberField({
    description: 'Mean weighted by boring time; of the rates and the power only',
    optional: true,
  })
  timeWeightedMean?: number;
}
