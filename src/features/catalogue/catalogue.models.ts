import { InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { CodeField, DecimalField, EnumField, TextField } from '../../common/api/fields.js';
import { TimeClass } from '../../generated/prisma/enums.js';

registerEnumType(TimeClass, {
  name: 'TimeClass',
  description: 'What the time of an activity code counts as.',
});

@InputType()
@ObjectType({ isAbstract: true })
export class ActivityCodeInput {
  @TextField({ description: 'What the code stands for' })
  description: string;

  @EnumField({ description: 'What its time counts as', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;
}

@ObjectType({ description: 'A code under which time is booked.' })
export class ActivityCode extends ActivityCodeInput {
  @CodeField({ description: 'The code' })
  code: string;
}

@InputType()
@ObjectType({ isAbstract: true })
export class EquipmentInput {
  @TextField({ description: 'What it is' })
  description: string;
}

@ObjectType({
  description: 'What an activity may concern: the machine or a part of it, a belt, the back-up, a train.',
})
export class Equipment extends EquipmentInput {
  @CodeField({ description: 'Code of the equipment' })
  code: string;
}

@InputType()
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
