import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { CodeField, DateField, DecimalField, EnumField, ListField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { SupportUnit } from '../../../generated/prisma/enums.js';
import '../../site/catalogue/support-item.model.js';

@ArgsType()
export class DoubtLimitPath extends ProjectPath {
  @DateField({ description: 'Date from which the limits are in force' })
  validFrom: string;
}

const MOST_M = 99_999;
const MOST_LOAD = 999_999;
const MOST_RATE = 999;

@InputType({ description: 'The most of a support item that is plausible per metre of drive.' })
@ObjectType({ isAbstract: true })
export class DoubtLimitItemInput {
  @CodeField({ description: 'Code of the support item' })
  item: string;

  @DecimalField({ description: 'Largest plausible quantity per metre [item unit/m]', min: 0.001 })
  mostPerM: string;
}

@ObjectType({
  description: 'The most of a support item that is plausible per metre of drive, with its unit.',
})
export class DoubtLimitItem extends DoubtLimitItemInput {
  @EnumField({ description: 'Its unit', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;
}

@InputType({ description: 'Plausibility limits from a date on; what is left out has its default.' })
export class DoubtLimitsInput {
  @DecimalField({
    description: 'How far support, ground and overbreak may lie ahead of the face; 0.5 when not given [m]',
    max: MOST_M,
    optional: true,
  })
  aheadOfFaceM?: string;

  @DecimalField({
    description:
      'Longest stroke that is not doubted; when not given a full stroke of the machine and 0.1, or 2.5 without one [m]',
    min: 0.001,
    max: 999,
    optional: true,
  })
  strokeLengthM?: string;

  @DecimalField({
    description: 'How far thrust and torque may be above the ratings of the machine; 5 when not given [%]',
    max: 999,
    decimals: 2,
    optional: true,
  })
  overRatingPercent?: string;

  @DecimalField({
    description:
      'Minimum thrust while boring; the friction of the machine where that is more; 100 when not given [kN]',
    max: MOST_LOAD,
    optional: true,
  })
  leastThrustKn?: string;

  @DecimalField({
    description: 'Maximum thrust where the machine has no rating; 50000 when not given [kN]',
    min: 0.001,
    max: MOST_LOAD,
    optional: true,
  })
  mostThrustKn?: string;

  @DecimalField({
    description:
      'Minimum torque while boring; the idle torque of the machine where that is more; 20 when not given [kNm]',
    max: MOST_LOAD,
    optional: true,
  })
  leastTorqueKnm?: string;

  @DecimalField({
    description: 'Maximum torque where the machine has no rating; 30000 when not given [kNm]',
    min: 0.001,
    max: MOST_LOAD,
    optional: true,
  })
  mostTorqueKnm?: string;

  @DecimalField({
    description: 'Minimum rate of boring; 0.05 when not given [m/h]',
    max: MOST_RATE,
    optional: true,
  })
  leastRateMPerH?: string;

  @DecimalField({
    description: 'Maximum rate of boring; 15 when not given [m/h]',
    min: 0.001,
    max: MOST_RATE,
    optional: true,
  })
  mostRateMPerH?: string;

  @ListField(() => DoubtLimitItemInput, {
    description: 'Limits for individual support items; others have the default for their kind',
    optional: true,
  })
  items?: DoubtLimitItemInput[];
}

@ObjectType({
  description:
    'Plausibility limits, from report.doubt_limit_in_force. The limits in force on the date of a record apply to it; what a project does not set has a default.',
})
export class DoubtLimits {
  @DateField({
    description:
      'Date from which they are in force, until the next ones; absent: from the beginning, all defaults',
    optional: true,
  })
  validFrom?: string;

  @DecimalField({ description: 'How far support, ground and overbreak may lie ahead of the face [m]' })
  aheadOfFaceM: string;

  @DecimalField({ description: 'Longest stroke that is not doubted where the machine gives no length [m]' })
  strokeLengthM: string;

  @DecimalField({ description: 'How far thrust and torque may be above the ratings [%]', decimals: 2 })
  overRatingPercent: string;

  @DecimalField({ description: 'Minimum thrust while boring, or the friction of the machine [kN]' })
  leastThrustKn: string;

  @DecimalField({ description: 'Maximum thrust where the machine has no rating [kN]' })
  mostThrustKn: string;

  @DecimalField({ description: 'Minimum torque while boring, or the idle torque of the machine [kNm]' })
  leastTorqueKnm: string;

  @DecimalField({ description: 'Maximum torque where the machine has no rating [kNm]' })
  mostTorqueKnm: string;

  @DecimalField({ description: 'Minimum rate of boring [m/h]' })
  leastRateMPerH: string;

  @DecimalField({ description: 'Maximum rate of boring [m/h]' })
  mostRateMPerH: string;

  @ListField(() => DoubtLimitItem, { description: 'Limits for individual support items, by code' })
  items: DoubtLimitItem[];
}
