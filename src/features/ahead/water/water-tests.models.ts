import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { NextField } from '../../../common/api/cursor.js';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { FlowPattern, LugeonClass } from '../../../generated/prisma/enums.js';

registerEnum(FlowPattern, {
  name: 'FlowPattern',
  description: 'How water flows in the rock, as the Lugeon values of a test in five steps suggest.',
  values: {
    laminar: 'About the same at every pressure',
    turbulent: 'Lowest at the peak pressure',
    dilation: 'Highest at the peak pressure: fissures open',
    wash_out: 'Higher on the way back: infilling is washed out',
    void_filling: 'Lower on the way back: voids fill, or infilling swells',
  },
});

registerEnum(LugeonClass, {
  name: 'LugeonClass',
  description: 'Class of hydraulic conductivity by the Lugeon value.',
  values: {
    very_low: 'Below 1 Lu',
    low: '1 to below 5 Lu',
    moderate: '5 to below 15 Lu',
    medium: '15 to below 50 Lu',
    high: '50 to 100 Lu',
    very_high: 'Above 100 Lu',
  },
});

const NAME = 'Name of the test in its drive';

@ArgsType()
export class WaterTestPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ description: 'A step of a water test, at one pressure, as it was read.' })
@ObjectType({ isAbstract: true })
export class WaterTestStepInput {
  @DecimalField({ description: 'Pressure at the gauge [bar]', max: 999 })
  gaugeBar: string;

  @DecimalField({
    description: 'Pressure lost between gauge and section; 0 when not given [bar]',
    max: 999,
    optional: true,
  })
  frictionBar?: string;

  @DecimalField({ description: 'Flow into the section [l/min]', max: 99_999 })
  flowLPerMin: string;

  @DecimalField({ description: 'How long the step lasted [min]', min: 0.01, max: 9999, decimals: 2 })
  durationMin: string;
}

@ObjectType({ description: 'A step of a water test, with its Lugeon value.' })
export class WaterTestStep extends WaterTestStepInput {
  @DecimalField({
    description: 'Pressure at the section: gauge + static column − friction − groundwater [bar]',
  })
  netBar: string;

  @DecimalField({ description: 'Lugeon value [Lu]' })
  lugeon: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
abstract class WaterTestReadings {
  @CodeField({ description: 'Name of the hole; it need not be a probe hole of the record' })
  hole: string;

  @ChainageField({ description: 'Chainage of its collar', optional: true })
  collar?: string;

  @DecimalField({ description: 'Depth at which the section begins [m]', max: 999 })
  fromDepthM: string;

  @DecimalField({ description: 'Depth at which it ends [m]', min: 0.001, max: 999 })
  toDepthM: string;

  @DecimalField({
    description: 'Diameter of the hole; without it no conductivity is computed [mm]',
    min: 1,
    max: 999,
    optional: true,
  })
  holeDiameterMm?: string;

  @DecimalField({
    description:
      'Pressure of the water between gauge and section, negative where the section lies higher; 0 when not given [bar]',
    min: -999,
    max: 999,
    optional: true,
  })
  staticBar?: string;

  @DecimalField({
    description: 'Pressure of the groundwater at the section; 0 when not given [bar]',
    max: 999,
    optional: true,
  })
  groundwaterBar?: string;

  @InstantField({ description: 'When it was tested' })
  testedAt: string;

  @TextField({ description: 'Who tested it', maxLength: 100, optional: true })
  testedBy?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'A water test in a section of a hole, as it was read.' })
export class WaterTestInput extends WaterTestReadings {
  @ListField(() => WaterTestStepInput, {
    description:
      'Its steps in their order, at least one; five (low, medium, peak, medium, low) let a flow pattern be suggested',
    max: 20,
  })
  steps: WaterTestStepInput[];
}

export const WATER_TEST_CAUTION =
  'Decision support: flow pattern, representative value, class and conductivity are suggestions by the published rules, for homogeneous rock about the section. ' +
  'Packers that leak, losses that were not measured and open fissures falsify them. What they mean for grouting is for the project’s designer.';

@ObjectType({ description: 'A water test in a section of a hole, and what it suggests.' })
export class WaterTest extends WaterTestReadings {
  @CodeField({ description: NAME })
  name: string;

  @ListField(() => WaterTestStep, { description: 'Its steps in their order' })
  steps: WaterTestStep[];

  @DecimalField({ description: 'Length of the section [m]' })
  sectionM: string;

  @EnumField({
    description:
      'Suggested flow pattern; absent where the steps are not five (low, medium, peak, medium, low), or fit none',
    values: FlowPattern,
    name: 'FlowPattern',
    optional: true,
  })
  flowPattern?: FlowPattern;

  @DecimalField({
    description: 'Lugeon value that stands for the test by that pattern; without one the highest [Lu]',
  })
  representativeLu: string;

  @EnumField({
    description: 'Class of hydraulic conductivity by that value',
    values: LugeonClass,
    name: 'LugeonClass',
  })
  lugeonClass: LugeonClass;

  @NumberField({ description: 'Hydraulic conductivity at that value by Moye [m/s]', optional: true })
  moyeMPerS?: number;

  @NumberField({ description: 'The same by the form of Thiem [m/s]', optional: true })
  thiemMPerS?: number;

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

@ObjectType({ description: 'A page of water tests, by time.' })
export class WaterTestPage {
  @ListField(() => WaterTest, { description: 'The tests, by time and by name' })
  items: WaterTest[];

  @NextField()
  next?: string;
}
