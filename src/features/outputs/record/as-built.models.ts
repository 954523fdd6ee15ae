import { ArgsType, ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { SupportUnit } from '../../../generated/prisma/enums.js';
import { Attachment } from '../attachments/attachment.models.js';
import '../../site/catalogue/support-item.model.js';
import { ClassDecision } from '../../ground/classes/class-decision.models.js';
import { Discontinuity } from '../../ground/discontinuities/discontinuity.models.js';
import { GroundLog } from '../../ground/ground-logs/ground-log.models.js';
import { MissingSupport } from '../../support/missing-support/missing-support.models.js';
import { OverbreakItem } from '../../ground/overbreak/overbreak.models.js';
import { HoldPoint } from '../../ahead/hold-points/hold-point.models.js';
import { Investigation } from '../../ahead/indications/investigation.models.js';
import { Encounter } from '../../ahead/indications/encounter.models.js';
import { IndicationOutcome } from '../../ahead/indications/outcome.models.js';
import { ProbeHole } from '../../ahead/probing/probe-hole.model.js';
import { InflowMeasurement } from '../../ahead/water/inflow.models.js';
import { WaterTest } from '../../ahead/water/water-tests.models.js';

@ArgsType()
export class ChainageRange {
  @PlusKept()
  @ChainageField({ description: 'One end of the interval' })
  from: string;

  @PlusKept()
  @ChainageField({ description: 'The other end' })
  to: string;
}

@ObjectType({ isAbstract: true })
abstract class AsBuiltEntry {
  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DateField({ description: 'Date of the shift that recorded it', optional: true })
  date?: string;

  @CodeField({ description: 'Name of the shift that recorded it', optional: true })
  shift?: string;
}

@ObjectType({ description: 'A shift that bored at a stroke.' })
export class AsBuiltShift {
  @DateField({ description: 'Date of the shift' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;
}

@ObjectType({ description: 'A stroke of the as-built record.' })
export class AsBuiltStroke extends AsBuiltEntry {
  @IntField({ description: 'Number of the stroke' })
  number: number;

  @ListField(() => AsBuiltShift, {
    description:
      'All shifts that bored at it, by their last metres; date and shift are those of the last one',
  })
  shifts: AsBuiltShift[];

  @DecimalField({ description: 'Its length within the interval [m]' })
  withinM: string;

  @InstantField({ description: 'Start of its boring', optional: true })
  startedAt?: string;

  @InstantField({ description: 'End of its boring', optional: true })
  endedAt?: string;

  @NumberField({ description: 'Torque ratio', optional: true })
  torqueRatio?: number;

  @BooleanField({ description: 'Whether the torque ratio lies within the machine’s bounds', optional: true })
  regularAdvance?: boolean;

  @BooleanField({ description: 'Whether the record has machine samples of the time of its boring' })
  isSampled: boolean;
}

@ObjectType({ description: 'A ground note of the as-built record.' })
export class AsBuiltGround extends AsBuiltEntry {
  @CodeField({ description: 'Ground class' })
  groundClass: string;

  @TextField({ description: 'Lithology', optional: true })
  lithology?: string;

  @DecimalField({ description: 'Its length within the interval [m]' })
  withinM: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@ObjectType({ description: 'A line of support of the as-built record.' })
export class AsBuiltSupport extends AsBuiltEntry {
  @CodeField({ description: 'Code of the item' })
  item: string;

  @TextField({ description: 'What the item is' })
  description: string;

  @CodeField({ description: 'Zone in which it was installed' })
  zone: string;

  @DecimalField({ description: 'Its quantity within the interval, in the unit' })
  quantityWithin: string;

  @EnumField({ description: 'Unit of the quantity', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;

  @DecimalField({
    description: 'Start of the arc, clockwise from the crown [°]',
    decimals: 2,
    optional: true,
  })
  arcFromDeg?: string;

  @DecimalField({ description: 'End of the arc [°]', decimals: 2, optional: true })
  arcToDeg?: string;

  @DecimalField({ description: 'Thickness of sprayed concrete [mm]', decimals: 2, optional: true })
  thicknessMm?: string;

  @InstantField({ description: 'When it was installed', optional: true })
  installedAt?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

export const AS_BUILT_CAUTION =
  'The record shows what the shifts reported. It does not judge whether the support suffices: that is for the project’s designer and the local code.';

@ObjectType({ description: 'As-built record of a chainage interval, from report.as_built.' })
export class AsBuilt {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @ListField(() => AsBuiltStroke, { description: 'Strokes that touch the interval' })
  strokes: AsBuiltStroke[];

  @ListField(() => AsBuiltGround, { description: 'Ground notes that touch the interval' })
  ground: AsBuiltGround[];

  @ListField(() => AsBuiltSupport, { description: 'Support that touches the interval' })
  support: AsBuiltSupport[];

  @ListField(() => MissingSupport, {
    description: 'Support required within the interval against support installed, by item, zone and part',
  })
  supportRequired: MissingSupport[];

  @ListField(() => ClassDecision, {
    description: 'Decisions on the ground class that touch the interval, in every state, also withdrawn',
  })
  classDecisions: ClassDecision[];

  @ListField(() => GroundLog, {
    description: 'Ground logs that touch the interval, with Q, RMR, GSI and water',
  })
  groundLogs: GroundLog[];

  @ListField(() => Discontinuity, { description: 'Discontinuities mapped within the interval' })
  discontinuities: Discontinuity[];

  @ListField(() => OverbreakItem, { description: 'Overbreak that touches the interval' })
  overbreak: OverbreakItem[];

  @ListField(() => ProbeHole, {
    description: 'Probe holes whose collar or axial reach lies within the interval, with their water',
  })
  probeHoles: ProbeHole[];

  @ListField(() => Investigation, {
    description: 'Investigations whose range touches the interval, with what each indicates',
  })
  investigations: Investigation[];

  @ListField(() => IndicationOutcome, {
    description: 'Indications that touch the interval, and how each turned out',
  })
  indications: IndicationOutcome[];

  @ListField(() => Encounter, {
    description: 'What was met in the ground of the interval, of the kinds that indications are of',
  })
  encounters: Encounter[];

  @ListField(() => HoldPoint, {
    description: 'Hold points within the interval, with their releases, also withdrawn ones',
  })
  holdPoints: HoldPoint[];

  @ListField(() => InflowMeasurement, {
    description:
      'Measurements of inflow over lengths that touch the interval; those of holes and at the portal have no length',
  })
  inflow: InflowMeasurement[];

  @ListField(() => WaterTest, {
    description:
      'Water tests whose collar, or else that of the probe hole that they name, lies within the interval',
  })
  waterTests: WaterTest[];

  @ListField(() => Attachment, {
    description:
      'Attachments that lie within the interval, or belong to a shift, stroke, log or probe hole listed here',
  })
  attachments: Attachment[];

  @TextField({ description: 'What the record does not say' })
  caution: string;
}
