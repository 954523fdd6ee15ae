import { ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  NumberField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import {
  InflowMethod,
  InflowPlace,
  LugeonClass,
  ProbeHoleState,
  ResponsibleParty,
  SupportUnit,
  TimeClass,
} from '../../../generated/prisma/enums.js';
import '../../ahead/probing/probe-hole.model.js';
import { GroutingRoundPlace } from '../../ahead/grouting/grouting.models.js';
import '../../ahead/water/inflow.models.js';
import '../../ahead/water/water-tests.models.js';
import '../../site/catalogue/catalogue.models.js';
import '../../site/catalogue/support-item.model.js';

const clock = (what: string) => ({ description: `${what}, by the clocks of the project, as 06:30` });

@ObjectType({ description: 'Time of one class.' })
export class DailyTime {
  @EnumField({
    description: 'Time class of the activities; absent: not booked',
    values: TimeClass,
    name: 'TimeClass',
    optional: true,
  })
  countsAs?: TimeClass;

  @DecimalField({ description: 'Time [s]' })
  seconds: string;
}

@ObjectType({ description: 'Time of one class in a quarter of an hour on the clock.' })
export class DailyQuarter extends DailyTime {
  @IntField({ description: 'Number of the quarter in the shift', min: 1 })
  quarter: number;

  @InstantField({ description: 'When the quarter begins within the shift' })
  startsAt: string;

  @TextField(clock('When it begins'))
  startsLocal: string;

  @InstantField({ description: 'When it ends within the shift' })
  endsAt: string;
}

@ObjectType({
  description: 'The part of a stroke bored in a shift, with means of its borings weighted by length.',
})
export class DailyStroke {
  @IntField({ description: 'Number of the stroke', min: 1 })
  number: number;

  @ChainageField({ description: 'Where the part begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Bored length [m]' })
  lengthM: string;

  @InstantField({ description: 'When boring began' })
  startedAt: string;

  @InstantField({ description: 'When boring ended' })
  endedAt: string;

  @TextField(clock('When boring began'))
  startedClock: string;

  @TextField(clock('When boring ended'))
  endedClock: string;

  @DecimalField({ description: 'Boring time [s]' })
  boringSeconds: string;

  @NumberField({ description: 'Mean total thrust [kN]', optional: true })
  thrustKn?: number;

  @NumberField({ description: 'Mean cutterhead torque [kNm]', optional: true })
  torqueKnm?: number;

  @NumberField({ description: 'Mean rotational speed [1/min]', optional: true })
  rotationRpm?: number;

  @NumberField({ description: 'Mean penetration [mm/rev]', optional: true })
  penetrationMmPerRev?: number;

  @NumberField({ description: 'Mean gripper pressure [bar]', optional: true })
  gripperPressureBar?: number;

  @DecimalField({ description: 'Muck weighed, of the borings that end in the shift [t]', optional: true })
  muckMassT?: string;
}

@ObjectType({ description: 'A stop: an activity that counts neither as boring nor as regripping.' })
export class DailyStop {
  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @TextField(clock('When it began'))
  startedClock: string;

  @TextField(clock('When it ended'))
  endedClock: string;

  @DecimalField({ description: 'Length [s]' })
  seconds: string;

  @CodeField({ description: 'Code of the activity' })
  code: string;

  @TextField({ description: 'What the code means: the cause' })
  cause: string;

  @EnumField({ description: 'What its time counts as', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;

  @EnumField({
    description: 'Responsible party',
    values: ResponsibleParty,
    name: 'ResponsibleParty',
    optional: true,
  })
  party?: ResponsibleParty;

  @CodeField({ description: 'Equipment concerned', optional: true })
  equipment?: string;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({
  description: 'Support installed, of one item in one zone. A quantity, not a judgement of the support.',
})
export class DailySupportSum {
  @CodeField({ description: 'Code of the zone' })
  zone: string;

  @CodeField({ description: 'Code of the support item' })
  item: string;

  @TextField({ description: 'Description of the item' })
  description: string;

  @DecimalField({ description: 'Quantity, in the unit' })
  quantity: string;

  @EnumField({ description: 'Unit of the item', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;
}

@ObjectType({
  description: 'Support installed by a shift, of one item in one zone, summed over its support lines.',
})
export class DailySupport extends DailySupportSum {
  @ChainageField({ description: 'Where the first line begins' })
  from: string;

  @ChainageField({ description: 'Where the last line ends' })
  to: string;

  @IntField({ description: 'Number of support lines', min: 1 })
  lineCount: number;

  @DecimalField({ description: 'Least thickness of the lines [mm]', optional: true })
  leastThicknessMm?: string;

  @DecimalField({ description: 'Greatest thickness of the lines [mm]', optional: true })
  mostThicknessMm?: string;

  @DecimalField({ description: 'Sprayed concrete according to the delivery tickets [m3]', optional: true })
  deliveredVolumeM3?: string;

  @TextListField({ description: 'Remarks of the lines, each once', maxLength: 2000, max: 1000 })
  remarks: string[];
}

@ObjectType({ description: 'Ground encountered by a shift.' })
export class DailyGround {
  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @CodeField({ description: 'Ground class noted by the shift' })
  groundClass: string;

  @TextField({ description: 'Lithology', optional: true })
  lithology?: string;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({ description: 'A ground log mapped during a shift.' })
export class DailyGroundLog {
  @CodeField({ description: 'Name of the log' })
  name: string;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @TextField({ description: 'Who mapped it', optional: true })
  mappedBy?: string;

  @TextField({ description: 'Lithology', optional: true })
  lithology?: string;

  @NumberField({ description: 'Rock mass quality Q', optional: true })
  q?: number;

  @IntField({ description: 'Rock Mass Rating', min: -100, optional: true })
  rmr?: number;

  @DecimalField({ description: 'Geological Strength Index as observed', decimals: 1, optional: true })
  gsi?: string;
}

@ObjectType({ description: 'A probe hole drilled during a shift. Decision support.' })
export class DailyProbeHole {
  @CodeField({ description: 'Name of the hole' })
  name: string;

  @InstantField({ description: 'When it was drilled' })
  drilledAt: string;

  @TextField(clock('When it was drilled'))
  drilledClock: string;

  @EnumField({ description: 'State', values: ProbeHoleState, name: 'ProbeHoleState' })
  state: ProbeHoleState;

  @ChainageField({ description: 'Chainage of the collar' })
  collar: string;

  @ChainageField({ description: 'Chainage to which it reaches along the axis' })
  reach: string;

  @DecimalField({
    description: 'Position of the collar, clockwise from the crown [°]',
    decimals: 2,
    optional: true,
  })
  positionDeg?: string;

  @DecimalField({ description: 'Look-out angle [°]', decimals: 2 })
  lookOutDeg: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @DecimalField({ description: 'Water inflow from the hole [l/min]', decimals: 2, optional: true })
  waterInflowLPerMin?: string;

  @DecimalField({ description: 'Depth at which water was met [m]', optional: true })
  waterDepthM?: string;

  @BooleanField({ description: 'Whether it counts as cover ahead of the face' })
  givesCover: boolean;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({
  description: 'Water measured during a shift: a measurement of inflow, or a water test in a hole.',
})
export class DailyWater {
  @CodeField({ description: 'Name of the measurement or test' })
  name: string;

  @InstantField({ description: 'When it was measured' })
  measuredAt: string;

  @TextField(clock('When it was measured'))
  measuredClock: string;

  @EnumField({
    description: 'Where inflow was measured; absent: a water test',
    values: InflowPlace,
    name: 'InflowPlace',
    optional: true,
  })
  place?: InflowPlace;

  @ChainageField({ description: 'Where the interval begins', optional: true })
  from?: string;

  @ChainageField({ description: 'Where the interval ends', optional: true })
  to?: string;

  @CodeField({ description: 'Name of the hole', optional: true })
  hole?: string;

  @EnumField({
    description: 'How inflow was measured',
    values: InflowMethod,
    name: 'InflowMethod',
    optional: true,
  })
  method?: InflowMethod;

  @DecimalField({
    description: 'Inflow, without service water [l/min]',
    min: -999_999_999,
    optional: true,
  })
  inflowLPerMin?: string;

  @DecimalField({ description: 'Representative value of a water test, a suggestion [Lu]', optional: true })
  representativeLu?: string;

  @EnumField({
    description: 'Class of hydraulic conductivity of a water test, a suggestion',
    values: LugeonClass,
    name: 'LugeonClass',
    optional: true,
  })
  lugeonClass?: LugeonClass;

  @TextField({ description: 'Remark', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({
  description:
    'A grouting round in a shift: what its holes took whose work ended in the shift. Decision support.',
})
export class DailyGrouting extends GroutingRoundPlace {
  @CodeField({ description: 'Name of the round' })
  name: string;

  @IntField({ description: 'Number of its holes done in the shift', min: 0 })
  holeCount: number;

  @DecimalField({ description: 'Length of these holes together [m]' })
  holeM: string;

  @DecimalField({ description: 'Dry mass that they took [kg]' })
  massKg: string;

  @DecimalField({
    description: 'Highest pressure at the end of grouting among them [bar]',
    optional: true,
  })
  pressureEndBar?: string;

  @TextField({ description: 'Remark of the round', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({ description: 'An alert, as a daily report shows it. Decision support.' })
export class DailyAlert {
  @IntField({ description: 'Number in the project', min: 1 })
  number: number;

  @TextField({ description: 'Text of the alert when it was raised', maxLength: 2000 })
  text: string;

  @InstantField({ description: 'When it was raised' })
  raisedAt: string;

  @TextField({ description: 'When it was raised, by the clocks of the project, as 2027-03-01 06:30' })
  raisedClock: string;

  @TextField({ description: 'Who acknowledged it', optional: true })
  acknowledgedBy?: string;

  @BooleanField({ description: 'Whether it is still open' })
  isOpen: boolean;
}

@ObjectType({ description: 'A photo or note of a shift, by its number.' })
export class DailyPhoto {
  @IntField({ description: 'Number of the attachment in the drive', min: 1 })
  number: number;

  @TextField({ description: 'Caption', maxLength: 2000, optional: true })
  caption?: string;

  @TextField({ description: 'Name of the file' })
  fileName: string;
}
