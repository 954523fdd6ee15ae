import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { NextField } from '../../../common/api/cursor.js';
import {
  ChainageField,
  CodeField,
  EnumField,
  InstantField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { EncounterSource, type IndicationKind } from '../../../generated/prisma/enums.js';
import { KIND } from './investigation.models.js';

registerEnum(EncounterSource, {
  name: 'EncounterSource',
  description: 'How something in the ground was met.',
  values: {
    boring: 'By the machine',
    mapping: 'By mapping the face or the walls',
    probe_hole: 'By a hole drilled ahead',
  },
});

export const SOURCE = { values: EncounterSource, name: 'EncounterSource' };

const NAME = 'Name of the encounter in its drive';

@ArgsType()
export class EncounterPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ description: 'What was met in the ground, as somebody saw it.' })
@ObjectType({ isAbstract: true })
export class EncounterInput {
  @EnumField({ description: 'What was met', ...KIND })
  kind: IndicationKind;

  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends; the same place for a plane' })
  to: string;

  @EnumField({ description: 'How it was met', ...SOURCE })
  source: EncounterSource;

  @ChainageField({
    description: 'Where the face stood when it was met; at its start when not given',
    optional: true,
  })
  face?: string;

  @InstantField({ description: 'When it was met' })
  metAt: string;

  @TextField({ description: 'Who saw it', maxLength: 100 })
  metBy: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@ObjectType({ description: 'What was met in the ground, of the kinds that indications are of.' })
export class Encounter extends EncounterInput {
  @CodeField({ description: NAME })
  name: string;
}

@ObjectType({ description: 'A page of encounters, along the drive.' })
export class EncounterPage {
  @ListField(() => Encounter, { description: 'The encounters, by where they begin and by name' })
  items: Encounter[];

  @NextField()
  next?: string;
}
