import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { CodeField, EnumField, TextField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';
import { PartyKind, PartySide } from '../../../generated/prisma/enums.js';
import './signed-for.model.js';

@ArgsType()
export class PartyPath extends ProjectPath {
  @CodeField({ description: 'Code of the party' })
  party: string;
}

@InputType({ description: 'A party of the contract, as put.' })
export class PartyInput {
  @Names('name the party')
  @TextField({ description: 'Name of the party', maxLength: 200 })
  name: string;

  @EnumField({ description: 'What it is', values: PartyKind, name: 'PartyKind' })
  kind: PartyKind;

  @EnumField({
    description:
      'Its side of the contract: a designer stands on the side that is given, the contractor’s unless one is; of the others it follows from the kind',
    values: PartySide,
    name: 'PartySide',
    optional: true,
  })
  side?: PartySide;
}

@ObjectType({ description: 'A party of the project, for which members act.' })
export class Party {
  @CodeField({ description: 'Code of the party' })
  code: string;

  @TextField({ description: 'Name of the party', maxLength: 200 })
  name: string;

  @EnumField({ description: 'What it is', values: PartyKind, name: 'PartyKind' })
  kind: PartyKind;

  @EnumField({ description: 'Its side of the contract', values: PartySide, name: 'PartySide' })
  side: PartySide;
}
