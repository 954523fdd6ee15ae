import { applyDecorators } from '@nestjs/common';
import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { Matches } from 'class-validator';
import { CodeField, EnumField, TextField } from '../../../common/api/fields.js';
import type { Class } from '../../../common/api/properties.js';
import { StrokeDay } from '../../../generated/prisma/enums.js';

registerEnum(StrokeDay, {
  name: 'StrokeDay',
  description:
    'split_by_time: each day has the part bored in it. whole_at_end: the day on which a stroke ends has all of it. All figures by production day, week and month follow; windows of hours and shifts go by time.',
  values: {
    split_by_time: 'Each production day has the part of the stroke bored in it',
    whole_at_end: 'The production day on which a stroke ends has all of it',
  },
});

const TIME_OF_DAY = /^([01]\d|2[0-3]):[0-5]\d$/;

/** Marks a property as a time of day. */
const OF_DAY = Symbol('time of day');

export const IsTimeOfDay = (): PropertyDecorator =>
  applyDecorators(
    Matches(TIME_OF_DAY, { message: '$property must be a time of day, HH:MM' }),
    Reflect.metadata(OF_DAY, true) as PropertyDecorator,
  );

/** Whether a property of a class is a time of day. */
export const isTimeOfDay = ({ prototype }: Class, name: string): boolean =>
  Reflect.getMetadata(OF_DAY, prototype as object, name) === true;

@InputType({ description: 'A project, as put.' })
@ObjectType({ isAbstract: true })
export class ProjectInput {
  @TextField({ description: 'Name of the project' })
  name: string;

  @TextField({ description: 'IANA time zone of the site', maxLength: 60 })
  timeZone: string;

  @TextField({ description: 'Local time at which the production day starts, HH:MM', maxLength: 5 })
  @IsTimeOfDay()
  dayStart: string;

  @TextField({ description: 'Currency, ISO 4217', maxLength: 3 })
  @Matches(/^[A-Z]{3}$/, { message: '$property must be an ISO 4217 code such as EUR' })
  currency: string;

  @EnumField({
    description: 'To which production day the metres of a stroke belong; split_by_time when absent',
    values: StrokeDay,
    name: 'StrokeDay',
    optional: true,
  })
  strokeDay?: StrokeDay;

  @TextField({
    description:
      'Why two persons of one party may sign what takes two parties; every signed paper then says so. Absent: they may not',
    optional: true,
  })
  @Matches(/\S/, { message: '$property must be a reason' })
  signaturesByOneParty?: string;
}

@ObjectType({ description: 'A construction site with its calendar, codes, classes and drives.' })
export class Project extends ProjectInput {
  @CodeField({ description: 'Code of the project' })
  code: string;
}
