import { InputType, ObjectType } from '@nestjs/graphql';
import { Matches } from 'class-validator';
import { CodeField, TextField } from '../../common/api/fields.js';

const TIME_OF_DAY = /^([01]\d|2[0-3]):[0-5]\d$/;

export const IsTimeOfDay = (): PropertyDecorator =>
  Matches(TIME_OF_DAY, { message: '$property must be a time of day, HH:MM' });

@InputType()
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
}

@ObjectType({ description: 'A construction site with its calendar, codes, classes and drives.' })
export class Project extends ProjectInput {
  @CodeField({ description: 'Code of the project' })
  code: string;
}
