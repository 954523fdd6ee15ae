import { Field, InputType, ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  NumberField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { IsAfter } from '../../../common/api/rules.js';
import { RecordDoubt } from '../doubts/doubt.models.js';
import { RemarkKind } from './remark-kind.js';
import { MOST_FINDINGS } from './sample-limits.js';
import { Thresholds } from './thresholds.model.js';

export const PROPOSAL_CAUTION =
  'Read from instruments by thresholds: nothing of it is booked automatically. Compare it with what the shift posted, and with the ' +
  'remarks, before it is accepted.';

const DOUBTS_OF_STROKES = 'Doubts about the strokes that it booked';

@InputType({ description: 'From which machine samples strokes are proposed, and by which thresholds.' })
export class StrokeProposalInput {
  @InstantField({ description: 'Samples from this moment on' })
  from: string;

  @IsAfter('from')
  @InstantField({ description: 'Samples before this moment, at most 31 days later' })
  to: string;

  @ObjectField(() => Thresholds, {
    description: 'Thresholds by which borings and regrips are recognised',
    optional: true,
  })
  thresholds?: Thresholds;
}

@InputType({ description: 'How the strokes of a proposal are numbered.' })
export class AcceptProposalInput {
  @IntField({
    description:
      'Number of the first stroke, up to 2000000000; the one after the last stroke behind when absent. The same number lets that stroke go on',
    max: 2_000_000_000,
    optional: true,
  })
  firstNumber?: number;
}

@ObjectType({ description: 'A boring of the record.' })
export class PostedBoring {
  @IntField({ description: 'Number of its stroke' })
  number: number;

  @DateField({ description: 'Date of the shift that posted it; absent when imported', optional: true })
  date?: string;

  @CodeField({ description: 'Name of that shift', optional: true })
  shift?: string;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @InstantField({ description: 'When it began; absent when imported without times', optional: true })
  startedAt?: string;

  @InstantField({ description: 'When it ended', optional: true })
  endedAt?: string;
}

@ObjectType({
  description:
    'The posted boring that shares most metres with a proposed one. Differences are proposed less posted.',
})
export class MetBoring extends PostedBoring {
  @IntField({ description: 'How many posted borings it meets' })
  metCount: number;

  @IntField({ description: 'Difference of the beginnings [mm]', min: -2_147_483_648 })
  fromDifferenceMm: number;

  @IntField({ description: 'Difference of the ends [mm]', min: -2_147_483_648 })
  toDifferenceMm: number;

  @DecimalField({ description: 'Difference of the beginnings [min]', min: -999_999_999, optional: true })
  startDifferenceMin?: string;

  @DecimalField({ description: 'Difference of the ends [min]', min: -999_999_999, optional: true })
  endDifferenceMin?: string;
}

@ObjectType({ description: 'A boring as the samples show it. Means are weighted by time.' })
export class ProposedBoring {
  @IntField({ description: 'Its stroke: 1, 2, 3 … of this proposal', min: 1 })
  stroke: number;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @IntField({ description: 'Samples while it was bored' })
  sampleCount: number;

  @NumberField({ description: 'Mean total thrust [kN]', optional: true })
  thrustKn?: number;

  @NumberField({ description: 'Mean cutterhead torque [kNm]', optional: true })
  torqueKnm?: number;

  @NumberField({ description: 'Mean rotational speed [1/min]', optional: true })
  rotationRpm?: number;

  @NumberField({ description: 'Mean penetration rate [mm/min]', optional: true })
  penetrationRateMmPerMin?: number;

  @NumberField({ description: 'Penetration: advance over turns [mm/rev]', optional: true })
  penetrationMmPerRev?: number;

  @NumberField({ description: 'Mean gripper pressure [bar]', optional: true })
  gripperPressureBar?: number;

  @DecimalField({ description: 'Muck: integral of the mass flow [t]', optional: true })
  muckMassT?: string;

  @ObjectField(() => MetBoring, {
    description: 'The posted boring that it meets; absent when none',
    optional: true,
  })
  posted?: MetBoring;
}

@ObjectType({ description: 'A time with loose grippers: a new stroke begins after it.' })
export class ProposedRegrip {
  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @ChainageField({ description: 'Where the head stood' })
  chainage: string;
}

@ObjectType({ description: 'What a reader of the proposal must also know.' })
export class ProposalRemark {
  @EnumField({ description: 'What it is', values: RemarkKind, name: 'SampleRemarkKind' })
  what: RemarkKind;

  @InstantField({ description: 'When' })
  at: string;

  @ChainageField({ description: 'Where' })
  chainage: string;

  @IntField({ description: 'Its length, below 0 when backwards [mm]', min: -2_147_483_648, optional: true })
  lengthMm?: number;

  @NumberField({ description: 'Its duration [s]', optional: true })
  durationS?: number;

  @IntField({ description: 'Samples it concerns', optional: true })
  sampleCount?: number;
}

@ObjectType({ description: 'Strokes proposed from the machine samples of a span, in short.' })
export class StrokeProposalHead {
  @IntField({ description: 'Number of the proposal on its drive', min: 1 })
  number: number;

  @InstantField({ description: 'Samples from this moment on' })
  from: string;

  @InstantField({ description: 'Samples before this moment' })
  to: string;

  @IntField({ description: 'Samples of the span' })
  sampleCount: number;

  @IntField({ description: 'Strokes proposed' })
  strokeCount: number;

  @IntField({ description: 'Borings of these strokes' })
  boringCount: number;

  @TextField({ description: 'Who had it computed' })
  proposedBy: string;

  @InstantField({ description: 'When' })
  proposedAt: string;

  @TextField({ description: 'Who accepted it; absent when nobody has', optional: true })
  acceptedBy?: string;

  @InstantField({ description: 'When', optional: true })
  acceptedAt?: string;
}

@ObjectType({ description: 'Strokes proposed from the machine samples of a span, beside what was posted.' })
export class StrokeProposal extends StrokeProposalHead {
  @TextField({ description: 'Its entity tag' })
  etag: string;

  @ObjectField(() => Thresholds, { description: 'Thresholds by which borings and regrips were recognised' })
  thresholds: Thresholds;

  @ListField(() => ProposedBoring, { description: 'The borings, in the order of time', max: MOST_FINDINGS })
  borings: ProposedBoring[];

  @ListField(() => PostedBoring, {
    description: 'Posted borings of the span that no proposed one meets',
    max: MOST_FINDINGS,
  })
  postedOnly: PostedBoring[];

  @ListField(() => ProposedRegrip, { description: 'The regrips, in the order of time', max: MOST_FINDINGS })
  regrips: ProposedRegrip[];

  @ListField(() => ProposalRemark, { description: 'The remarks, in the order of time', max: MOST_FINDINGS })
  remarks: ProposalRemark[];

  @TextField({ description: 'What the proposal is not', maxLength: 1000 })
  caution: string;

  @Field(() => [RecordDoubt], {
    description: `${DOUBTS_OF_STROKES}; absent but in the answer of its acceptance`,
    nullable: true,
  })
  doubts?: RecordDoubt[];
}

/** What the acceptance of a proposal answers. */
export class AcceptedStrokeProposal extends StrokeProposal {
  @ListField(() => RecordDoubt, { description: DOUBTS_OF_STROKES, max: MOST_FINDINGS })
  declare doubts: RecordDoubt[];
}
