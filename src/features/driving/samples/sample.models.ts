import { ObjectType } from '@nestjs/graphql';
import { ApiProperty } from '@nestjs/swagger';
import {
  ChainageField,
  DateField,
  DecimalField,
  InstantField,
  IntField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { IsAfter } from '../../../common/api/rules.js';
import { MOST_REJECTIONS } from './sample-limits.js';

const MAP_EXAMPLE = JSON.stringify({
  at: 'Time',
  positionM: 'Position [m]',
  thrustKn: { column: 'Thrust [MN]', factor: 1000 },
  penetrationRateMmPerMin: 'Advance speed [mm/min]',
});

/** The parts of an upload as multipart/form-data, for the OpenAPI document only: the service streams them. */
export class SampleForm {
  @ApiProperty({
    description:
      'JSON, before the file: which column each field is read from, as field → heading, or field → { "column": heading, "factor": number } ' +
      'for a reading in another unit. Fields: at; chainage or positionM (driven metres from the start of the drive); optional thrustKn, ' +
      'torqueKnm, rotationRpm, penetrationRateMmPerMin, gripperPressureBar, muckFlowTPerH.',
    type: String,
    example: MAP_EXAMPLE,
  })
  map: string;

  @ApiProperty({
    description:
      'What separates the columns: comma, semicolon, tab or pipe, or the character itself; before the file',
    type: String,
    default: 'comma',
    required: false,
  })
  delimiter?: string;

  @ApiProperty({
    description:
      'The table, last in the form: CSV in UTF-8, a heading row, then one row per line; up to 512 MB',
    type: 'string',
    format: 'binary',
  })
  file: unknown;
}

export class RejectedSample {
  @IntField({ description: 'Line of the upload, from 1', min: 1 })
  line: number;

  @TextField({ description: 'Why it is rejected' })
  detail: string;
}

export class SampleUploadReport {
  @IntField({ description: 'Samples taken' })
  taken: number;

  @IntField({ description: 'Samples of a moment that the drive has one of already: left as they are' })
  known: number;

  @IntField({ description: 'Rows rejected' })
  rejected: number;

  @InstantField({ description: 'Moment of the first sample' })
  from: string;

  @InstantField({ description: 'Moment of the last sample' })
  to: string;

  @ListField(() => RejectedSample, { description: 'The first of the rejected rows', max: MOST_REJECTIONS })
  rejections: RejectedSample[];
}

export class SampleRange {
  @PlusKept()
  @InstantField({ description: 'First moment', optional: true })
  from?: string;

  @IsAfter('from')
  @PlusKept()
  @InstantField({ description: 'Moment before which they end', optional: true })
  to?: string;

  @IntField({ description: 'Maximum number, up to 10000', min: 1, max: 10_000, optional: true })
  first?: number;

  @PlusKept()
  @InstantField({ description: 'Only those after this moment', optional: true })
  after?: string;
}

export class MachineSampleModel {
  @InstantField({ description: 'Moment, by the machine’s clock' })
  at: string;

  @ChainageField({ description: 'Chainage of the head' })
  chainage: string;

  @DecimalField({ description: 'Driven metres of the head [m]' })
  positionM: string;

  @NumberField({ description: 'Total thrust [kN]', optional: true })
  thrustKn?: number;

  @NumberField({ description: 'Cutterhead torque [kNm]', optional: true })
  torqueKnm?: number;

  @NumberField({ description: 'Rotational speed [1/min]', optional: true })
  rotationRpm?: number;

  @NumberField({ description: 'Penetration rate [mm/min]', optional: true })
  penetrationRateMmPerMin?: number;

  @NumberField({ description: 'Gripper pressure [bar]', optional: true })
  gripperPressureBar?: number;

  @NumberField({ description: 'Mass flow over the belt weigher [t/h]', optional: true })
  muckFlowTPerH?: number;
}

export class SamplePage {
  @ListField(() => MachineSampleModel, { description: 'The samples, in the order of time', max: 10_000 })
  items: MachineSampleModel[];

  @InstantField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: string;

  @TextField({
    description:
      'Months of the span whose samples are retired and not in this answer, such as "2026-01, 2026-02"; null when none',
    optional: true,
  })
  retired?: string;
}

@ObjectType({ description: 'Machine samples of a production day, from report.sample_day.' })
export class SampleDay {
  @DateField({ description: 'Local date on which the production day begins' })
  productionDay: string;

  @IntField({ description: 'Number of samples' })
  count: number;
}

@ObjectType({ description: 'Which machine samples the drive has.' })
export class SampleSummary {
  @InstantField({ description: 'Moment of the first; absent when there are none', optional: true })
  from?: string;

  @InstantField({ description: 'Moment of the last', optional: true })
  to?: string;

  @IntField({ description: 'Number of samples' })
  count: number;

  @ListField(() => SampleDay, { description: 'The days that have samples', max: 100_000 })
  days: SampleDay[];

  @TextField({
    description:
      'Months of the span whose samples are retired and not in this answer, such as "2026-01, 2026-02"; null when none',
    optional: true,
  })
  retired?: string;
}
