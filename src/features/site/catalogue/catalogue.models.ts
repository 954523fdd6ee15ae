import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ArrayMinSize } from 'class-validator';
import {
  BooleanField,
  ChoicesField,
  CodeField,
  DecimalField,
  EnumField,
  TextField,
} from '../../../common/api/fields.js';
import { TimeClass } from '../../../generated/prisma/enums.js';

registerEnum(TimeClass, {
  name: 'TimeClass',
  description: 'What the time of an activity code counts as.',
  values: {
    boring: 'Boring',
    regripping: 'Regripping',
    planned_stop: 'Stop that is planned, as for maintenance',
    breakdown: 'Breakdown of plant',
    ground: 'Stop for the ground or its support',
    waiting: 'Waiting for others',
    outside_working_time: 'Outside working time',
  },
});

@InputType({ description: 'An activity code, as put.' })
@ObjectType({ isAbstract: true })
export class ActivityCodeInput {
  @TextField({ description: 'What the code stands for' })
  description: string;

  @EnumField({ description: 'What its time counts as', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;

  @BooleanField({
    description:
      'Whether the programme plans its time, as it does regular support: what it does not plan is lost. When absent, breakdown, ground and waiting are not planned',
    optional: true,
  })
  planned?: boolean;
}

@ObjectType({ description: 'A code under which time is booked.' })
export class ActivityCode extends ActivityCodeInput {
  @CodeField({ description: 'The code' })
  code: string;
}

@InputType({ description: 'A piece of equipment, as put.' })
@ObjectType({ isAbstract: true })
export class EquipmentInput {
  @TextField({ description: 'What it is' })
  description: string;

  @ChoicesField({
    description:
      'Time during which it is in use: its failures are counted over these hours; boring when absent',
    values: Object.values(TimeClass),
    name: 'TimeClass',
    graphql: TimeClass,
    optional: true,
  })
  @ArrayMinSize(1, { message: 'omit $property, or name at least one' })
  inUseDuring?: TimeClass[];
}

@ObjectType({
  description: 'What an activity may concern: the machine or a part of it, a belt, the back-up, a train.',
})
export class Equipment extends EquipmentInput {
  @CodeField({ description: 'Code of the equipment' })
  code: string;
}

@InputType({ description: 'A ground class, as put.' })
@ObjectType({ isAbstract: true })
export class GroundClassInput {
  @TextField({ description: 'What the class stands for' })
  description: string;

  @DecimalField({
    description: 'Density of the rock in place; the drive’s when not given [t/m³]',
    min: 0.5,
    max: 9.999,
    optional: true,
  })
  densityTPerM3?: string;

  @DecimalField({
    description: 'Growth of its volume by breaking; the drive’s when not given [%]',
    max: 300,
    decimals: 2,
    optional: true,
  })
  swellPercent?: string;
}

@ObjectType({ description: 'A ground class of the contract.' })
export class GroundClass extends GroundClassInput {
  @CodeField({ description: 'Code of the class' })
  code: string;
}
