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
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { IndicationKind, InvestigationMethod } from '../../../generated/prisma/enums.js';

registerEnum(InvestigationMethod, {
  name: 'InvestigationMethod',
  description: 'How the ground ahead of the face was looked at.',
  values: {
    reflection_seismic: 'Reflection seismic',
    resistivity: 'Electrical resistivity',
    geological_mapping: 'Mapping of the face and walls, projected ahead',
    probe_hole: 'A hole drilled ahead',
    other: 'Another method, named by methodName',
  },
});

registerEnum(IndicationKind, {
  name: 'IndicationKind',
  description: 'What is indicated ahead of the face, or was met.',
  values: {
    fractured: 'Fractured rock',
    water_bearing: 'Water-bearing ground',
    void: 'A void',
    change_of_rock: 'A change of the rock',
    gas: 'Gas',
  },
});

export const METHOD = { values: InvestigationMethod, name: 'InvestigationMethod' };
export const KIND = { values: IndicationKind, name: 'IndicationKind' };

const NAME = 'Name of the investigation in its drive';
const UNCERTAINTY = { max: 500, optional: true };

@ArgsType()
export class InvestigationPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
export class IndicationStretch {
  @CodeField({ description: 'Key of the indication in its investigation' })
  key: string;

  @EnumField({ description: 'What is indicated', ...KIND })
  kind: IndicationKind;

  @ChainageField({ description: 'Where it should begin, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it should end; the same place for a plane' })
  to: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'What an investigation indicates.' })
export class IndicationInput extends IndicationStretch {
  @DecimalField({
    description: 'Uncertainty of either end, to either side; 0 when none is given [m]',
    ...UNCERTAINTY,
  })
  uncertaintyM?: string;

  @DecimalField({ description: 'Uncertainty of its start, where the ends differ [m]', ...UNCERTAINTY })
  fromUncertaintyM?: string;

  @DecimalField({ description: 'Uncertainty of its end, where the ends differ [m]', ...UNCERTAINTY })
  toUncertaintyM?: string;
}

@ObjectType({ description: 'What an investigation indicates.' })
export class Indication extends IndicationStretch {
  @DecimalField({ description: 'Uncertainty of its start, to either side [m]' })
  fromUncertaintyM: string;

  @DecimalField({ description: 'Uncertainty of its end, to either side [m]' })
  toUncertaintyM: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
export class InvestigationMade {
  @EnumField({ description: 'Method', ...METHOD })
  method: InvestigationMethod;

  @TextField({ description: 'Name of the method; of method other only', maxLength: 100, optional: true })
  methodName?: string;

  @CodeField({
    description:
      'The probe hole that it is, of method probe_hole only; what that hole itself met is not compared with it',
    optional: true,
  })
  probeHole?: string;

  @ChainageField({ description: 'Where the range that it investigated begins: at the face or ahead of it' })
  from: string;

  @ChainageField({ description: 'Where that range ends; what is met in it without an indication is a miss' })
  to: string;

  @ChainageField({ description: 'Where the face stood' })
  face: string;

  @InstantField({ description: 'When it was made' })
  madeAt: string;

  @TextField({ description: 'Who made it', maxLength: 100 })
  madeBy: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'An investigation of the ground ahead, with all that it indicates.' })
export class InvestigationInput extends InvestigationMade {
  @ListField(() => IndicationInput, {
    description: 'What it indicates; empty when nothing',
    max: 200,
    empty: true,
  })
  indications: IndicationInput[] = [];
}

@ObjectType({ description: 'An investigation of the ground ahead of the face by one method over one range.' })
export class Investigation extends InvestigationMade {
  @CodeField({ description: NAME })
  name: string;

  @ListField(() => Indication, { description: 'What it indicates, by where it should begin' })
  indications: Indication[];
}

@ObjectType({ description: 'A page of investigations, along the drive.' })
export class InvestigationPage {
  @ListField(() => Investigation, { description: 'The investigations, by where they begin and by name' })
  items: Investigation[];

  @NextField()
  next?: string;
}
