import { ArgsType, ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import { Acceptance } from '../../driving/acceptance/acceptance.models.js';
import '../../driving/shift-state/shift-state.js';
import { SignedFor } from '../../site/parties/signed-for.model.js';
import { OpenItem } from '../record/open-item.model.js';
import {
  DailyAlert,
  DailyGround,
  DailyGroundLog,
  DailyPhoto,
  DailyProbeHole,
  DailyQuarter,
  DailyStop,
  DailyStroke,
  DailySupport,
  DailySupportSum,
  DailyTime,
  DailyWater,
  DailyGrouting,
} from './daily-entries.models.js';

export class DailyReportPath extends DrivePath {
  @DateField({ description: 'Production day: the local date on which it begins' })
  date: string;
}

@ArgsType()
export class DailyReportArgs {
  @DateField({ description: 'Production day: the local date on which it begins' })
  date: string;
}

/** Shown with all figures on support, probing, water or grouting. */
export const DAILY_CAUTION =
  'Decision support: support, probing, water and grouting are shown as they were reported, which may be late, incomplete or wrong; nothing here states that they suffice. ' +
  'The project’s designer, the responsible person on site and the local code decide; inspection on site takes precedence over any figure.';

@ObjectType({
  description: 'A shift in a daily report: everything recorded of it, from one state of the record.',
})
export class DailyShift {
  @DateField({ description: 'Date on which it starts' })
  date: string;

  @CodeField({ description: 'Name in the calendar' })
  shift: string;

  @InstantField({ description: 'When it starts' })
  startsAt: string;

  @InstantField({ description: 'When it ends' })
  endsAt: string;

  @TextField({ description: 'Start by the clocks of the project, as 2027-03-01 06:00' })
  startsLocal: string;

  @TextField({ description: 'End by the clocks of the project' })
  endsLocal: string;

  @DecimalField({ description: 'Length [s]' })
  seconds: string;

  @EnumField({ description: 'State', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @EnumField({
    description: 'Acceptance, as of the moment requested',
    values: Acceptance,
    name: 'Acceptance',
  })
  acceptance: Acceptance;

  @TextField({
    description:
      'SHA-256 of the canonical form of the shift’s document, 64 hexadecimal digits: paper with a different digest shows another version. The entity tag of a shift begins with it until it is countersigned',
    maxLength: 64,
  })
  digest: string;

  @TextField({ description: 'Who led the crew', maxLength: 100, optional: true })
  crewLead?: string;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;

  @TextListField({ description: 'Everyone who has posted it', max: 1000 })
  postedBy: string[];

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was last posted', optional: true })
  postedFor?: SignedFor;

  @TextField({
    description: 'When the current version was submitted, by the clocks of the project',
    optional: true,
  })
  submittedClock?: string;

  @TextField({ description: 'Who countersigned it', optional: true })
  countersignedBy?: string;

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was countersigned', optional: true })
  countersignedFor?: SignedFor;

  @TextField({ description: 'When it was countersigned, by the clocks of the project', optional: true })
  countersignedClock?: string;

  @TextField({ description: 'Who disputes it', optional: true })
  disputedBy?: string;

  @TextField({ description: 'Why', optional: true })
  disputeReason?: string;

  @DecimalField({ description: 'Metres bored, by boring time [m]' })
  advanceM: string;

  @ChainageField({ description: 'Where the first boring began; absent: none', optional: true })
  fromChainage?: string;

  @ChainageField({ description: 'Where the last boring ended; absent: none', optional: true })
  faceChainage?: string;

  @IntField({ description: 'Number of strokes bored, whole or in part' })
  strokeCount: number;

  @DecimalField({ description: 'Boring time [h]', decimals: 4 })
  boringHours: string;

  @DecimalField({ description: 'Metres bored by this and all earlier shifts [m]' })
  cumulativeM: string;

  @ListField(() => DailyQuarter, {
    description: 'Time by quarter of an hour and class, with unbooked time; adds up to the shift',
  })
  quarters: DailyQuarter[];

  @ListField(() => DailyTime, { description: 'Time by class; adds up to the shift' })
  times: DailyTime[];

  @ListField(() => DailyStroke, { description: 'Strokes bored, whole or in part, in order', max: 10_000 })
  strokes: DailyStroke[];

  @ListField(() => DailyStop, {
    description: 'Activities that count neither as boring nor as regripping, in order of time',
    max: 10_000,
  })
  stops: DailyStop[];

  @ListField(() => DailySupport, { description: 'Support installed, by zone and item' })
  support: DailySupport[];

  @ListField(() => DailyGround, { description: 'Ground encountered, along the drive' })
  ground: DailyGround[];

  @ListField(() => DailyGroundLog, { description: 'Ground logs mapped during the shift' })
  groundLogs: DailyGroundLog[];

  @ListField(() => DailyProbeHole, { description: 'Probe holes drilled during the shift' })
  probeHoles: DailyProbeHole[];

  @ListField(() => DailyWater, { description: 'Water measured during the shift' })
  water: DailyWater[];

  @ListField(() => DailyGrouting, {
    description: 'Grouting rounds with holes completed during the shift',
  })
  grouting: DailyGrouting[];

  @ListField(() => OpenItem, {
    description: 'Open items of the shift: what the record still lacks',
    max: 10_000,
  })
  openItems: OpenItem[];

  @ListField(() => DailyAlert, { description: 'Alerts raised during the shift' })
  alerts: DailyAlert[];

  @ListField(() => DailyPhoto, { description: 'Photos and notes of the shift, by number', max: 10_000 })
  photos: DailyPhoto[];
}

@ObjectType({ description: 'Who signs for a side of the contract.' })
export class DailySignature {
  @TextField({ description: 'Contractor, or supervision / client' })
  side: string;

  @TextListField({ description: 'Names of the parties of the side', maxLength: 200 })
  parties: string[];
}

@ObjectType({
  description:
    'The report of a production day: the shifts that start in it, each whole, and the totals of the day. PDF and HTML show the same data.',
})
export class DailyReport {
  @CodeField({ description: 'Code of the project' })
  project: string;

  @TextField({ description: 'Name of the project' })
  projectName: string;

  @CodeField({ description: 'Code of the drive' })
  drive: string;

  @TextField({ description: 'Name of the drive' })
  driveName: string;

  @DateField({ description: 'The production day' })
  date: string;

  @TextField({ description: 'When it begins, by the clocks of the project, as 2027-03-01 06:00' })
  startsLocal: string;

  @TextField({ description: 'When it ends' })
  endsLocal: string;

  @TextField({ description: 'Time zone of the project, in which clock times are given' })
  timeZone: string;

  @IntField({
    description: 'Number of the last change of the project’s record that the report includes; absent: none',
    min: 1,
    optional: true,
  })
  change?: number;

  @InstantField({ description: 'When that change was made', optional: true })
  changedAt?: string;

  @TextField({ description: 'When that change was made, by the clocks of the project', optional: true })
  changedClock?: string;

  @DecimalField({ description: 'Metres bored in the day, by boring time [m]' })
  advanceM: string;

  @ChainageField({ description: 'Where the first boring of the day began; absent: none', optional: true })
  fromChainage?: string;

  @ChainageField({ description: 'Where the last boring of the day ended; absent: none', optional: true })
  faceChainage?: string;

  @IntField({ description: 'Number of strokes bored in the day, whole or in part' })
  strokeCount: number;

  @DecimalField({ description: 'Boring time in the day [h]', decimals: 4 })
  boringHours: string;

  @DecimalField({ description: 'Metres bored up to the end of the day [m]' })
  cumulativeM: string;

  @ListField(() => DailyTime, { description: 'Time booked in the day by class' })
  times: DailyTime[];

  @ListField(() => DailySupportSum, {
    description: 'Support installed by the shifts of the report, by zone and item',
  })
  support: DailySupportSum[];

  @TextListField({ description: 'Shifts of the calendar on this date that are not posted' })
  missingShifts: string[];

  @ListField(() => DailyAlert, {
    description: 'Alerts of the drive that are open as of the moment requested',
  })
  openAlerts: DailyAlert[];

  @ListField(() => DailySignature, { description: 'Who signs: one of each side of the contract' })
  signatures: DailySignature[];

  @ListField(() => DailyShift, { description: 'The shifts that start in the day, by start', max: 100 })
  shifts: DailyShift[];

  @TextField({ description: 'Limits of the report', maxLength: 1000 })
  caution: string;
}
