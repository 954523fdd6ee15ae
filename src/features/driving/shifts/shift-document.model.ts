import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ArrayMinSize } from 'class-validator';
import {
  ChainageField,
  ChainageListField,
  CodeField,
  DateField,
  DecimalField,
  DecimalListField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  ReadingField,
  TextField,
} from '../../../common/api/fields.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { Outcome } from '../../../common/api/outcome.js';
import { ResponsibleParty, ShiftState } from '../../../generated/prisma/enums.js';
import { DoubtCode, RecordDoubt } from '../doubts/doubt.models.js';
import { OpenItem } from '../../outputs/record/open-item.model.js';
import '../shift-state/shift-state.js';

/** Most pieces of a line: each becomes a row of a report. */
export const MOST_PIECES = 10_000;

registerEnum(ResponsibleParty, {
  name: 'ResponsibleParty',
  description: 'The party responsible for lost time.',
  values: {
    contractor: 'Contractor',
    employer: 'Client, the employer under the contract',
    third_party: 'Third party',
  },
});

@InputType('ShiftBoringInput', {
  description: 'A continuous piece of a stroke bored within the shift, with the means read during it.',
})
@ObjectType({
  description: 'A continuous piece of a stroke bored within the shift, with the means read during it.',
})
export class ShiftBoring {
  @ChainageField({ description: 'Where the boring begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @ReadingField({ description: 'Mean total thrust [kN]', max: 1_000_000, optional: true })
  thrustKn?: number;

  @ReadingField({ description: 'Mean cutterhead torque [kNm]', max: 1_000_000, optional: true })
  torqueKnm?: number;

  @ReadingField({ description: 'Mean rotational speed [1/min]', max: 100, optional: true })
  rotationRpm?: number;

  @ReadingField({ description: 'Mean penetration [mm/rev]', max: 100, optional: true })
  penetrationMmPerRev?: number;

  @ReadingField({ description: 'Mean gripper pressure [bar]', max: 2000, optional: true })
  gripperPressureBar?: number;

  @DecimalField({ description: 'Muck by the belt weigher [t]', max: 99_999, optional: true })
  muckMassT?: string;
}

@InputType('ShiftStrokeInput', { description: 'A stroke, or the part of it bored in this shift.' })
@ObjectType({ description: 'A stroke, or the part of it bored in this shift.' })
export class ShiftStroke {
  @IntField({ description: 'Number of the stroke' })
  number: number;

  @ListField(() => ShiftBoring, { description: 'Its borings in this shift', max: 100 })
  @ArrayMinSize(1)
  borings: ShiftBoring[];
}

@InputType('ShiftActivityInput', { description: 'Time booked under a code.' })
@ObjectType({ description: 'Time booked under a code.' })
export class ShiftActivity {
  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @CodeField({ description: 'Activity code' })
  code: string;

  @EnumField({
    description: 'Party responsible for the time',
    values: ResponsibleParty,
    name: 'ResponsibleParty',
    optional: true,
  })
  responsibleParty?: ResponsibleParty;

  @CodeField({ description: 'Code of the equipment that it concerns', optional: true })
  equipment?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType('ShiftSupportInput', {
  description: 'Support installed in the shift, at one chainage or along an interval.',
})
@ObjectType({ description: 'Support installed in the shift, at one chainage or along an interval.' })
export class ShiftSupport {
  @CodeField({ description: 'Code of the support item' })
  item: string;

  @CodeField({ description: 'Zone in which it was installed' })
  zone: string;

  @ChainageField({ description: 'Chainage, or where the interval begins' })
  from: string;

  @ChainageField({ description: 'Where the interval ends; at one chainage when not given', optional: true })
  to?: string;

  @DecimalField({ description: 'Quantity, in the item’s unit', min: 0.001 })
  quantity: string;

  @ChainageListField({
    description:
      'Where the pieces of a counted item stand, each by its chainage, in their order along the drive; evenly along the interval when not given',
    max: MOST_PIECES,
    optional: true,
  })
  positions?: string[];

  @DecimalListField({
    description:
      'Where the same pieces stand on the ring, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
    most: MOST_PIECES,
    optional: true,
  })
  arcPositionsDeg?: string[];

  @DecimalField({
    description: 'Start of the arc, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  arcFromDeg?: string;

  @DecimalField({ description: 'End of the arc [°]', max: 360, decimals: 2, optional: true })
  arcToDeg?: string;

  @DecimalField({
    description: 'Thickness of sprayed concrete [mm]',
    min: 0.01,
    max: 9999,
    decimals: 2,
    optional: true,
  })
  thicknessMm?: string;

  @DecimalField({
    description: 'Volume of sprayed concrete that was delivered for it, by the tickets [m³]',
    min: 0.001,
    optional: true,
  })
  deliveredVolumeM3?: string;

  @InstantField({ description: 'When it was installed', optional: true })
  installedAt?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType('ShiftGroundInput', { description: 'Ground met along an interval.' })
@ObjectType({ description: 'Ground met along an interval.' })
export class ShiftGround {
  @ChainageField({ description: 'Where the interval begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @CodeField({ description: 'Code of the ground class' })
  groundClass: string;

  @TextField({ description: 'Lithology', optional: true })
  lithology?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType('ShiftConfirmationInput', {
  description: 'A doubt about the shift that is confirmed: the figure is correct nevertheless.',
})
@ObjectType({ description: 'A doubt about the shift that is confirmed: the figure is correct nevertheless.' })
export class ShiftConfirmation {
  @EnumField({ description: 'The doubt', values: DoubtCode, name: 'DoubtCode' })
  doubt: DoubtCode;

  @ChainageField({
    description: 'Where what is doubted begins; wherever in the shift when not given',
    optional: true,
  })
  from?: string;

  @ReasonField({ description: 'Why the figure is correct nevertheless' })
  reason: string;
}

@InputType('ShiftDocumentInput', { description: 'A shift as one document: stored whole or refused.' })
@ObjectType({ description: 'A shift as one document: stored whole or refused.' })
export class ShiftDocument {
  @EnumField({
    description: 'draft may have gaps; submitted may not',
    values: ShiftState,
    name: 'ShiftState',
  })
  state: ShiftState;

  @InstantField({ description: 'Start of the shift; that of the calendar when not given', optional: true })
  startsAt?: string;

  @InstantField({ description: 'End of the shift; that of the calendar when not given', optional: true })
  endsAt?: string;

  @TextField({ description: 'Who led the crew', maxLength: 100, optional: true })
  crewLead?: string;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;

  @ListField(() => ShiftStroke, { description: 'Strokes bored at', max: 200, empty: true })
  strokes: ShiftStroke[] = [];

  @ListField(() => ShiftActivity, { description: 'How the time was used', max: 500, empty: true })
  activities: ShiftActivity[] = [];

  @ListField(() => ShiftSupport, { description: 'Support installed', max: 1000, empty: true })
  support: ShiftSupport[] = [];

  @ListField(() => ShiftGround, { description: 'Ground met', max: 200, empty: true })
  ground: ShiftGround[] = [];

  @ListField(() => ShiftConfirmation, {
    description: 'Doubts about it that are confirmed; with any other doubt it cannot be submitted',
    max: 200,
    optional: true,
  })
  confirm?: ShiftConfirmation[];
}

@ObjectType({ description: 'Result of posting a shift.' })
export class ShiftReceipt {
  @EnumField({ description: 'What the write did', values: Outcome, name: 'Outcome' })
  outcome: Outcome;

  @DateField({ description: 'Date on which the shift starts' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @TextField({ description: 'Entity tag of the current document' })
  etag: string;

  @ListField(() => OpenItem, { description: 'What the shift still misses' })
  openItems: OpenItem[];

  @ListField(() => RecordDoubt, {
    description:
      'Doubts about other shifts that hang on what this one bored, and that nobody confirmed, the first hundred: support and ground ahead of the face until ' +
      'someone bores again, and the length of strokes that they share, or shared in an earlier version',
    max: 100,
  })
  doubtsOfOthers: RecordDoubt[];
}
