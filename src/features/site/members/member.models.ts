import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ChoicesField, CodeField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { ROLES, type Role } from '../../../common/auth/permissions.js';
import { Role as RoleEnum } from '../../../generated/prisma/enums.js';
import { SubjectField } from './subject.js';

registerEnum(RoleEnum, {
  name: 'Role',
  description: 'What a member may do in a project.',
  values: {
    viewer: 'Reads the record',
    shift_poster: 'Posts shifts and imports',
    geologist: 'Maps the ground',
    engineer: 'Runs the technical record: catalogues, decisions, countersigning',
    qs: 'Measures and certifies',
    administrator: 'Runs the project: members, parties, keys',
    supervisor: 'Acts for the client: countersigns, agrees and disputes',
  },
});

@ArgsType()
export class MemberPath extends ProjectPath {
  @SubjectField({ description: 'Subject of the access tokens' })
  subject: string;
}

@InputType({ description: 'What a person may do in the project, and for which party.' })
@ObjectType({ isAbstract: true })
export class MemberInput {
  @ChoicesField({
    description: 'Roles in the project, at least one',
    values: ROLES,
    name: 'Role',
    graphql: RoleEnum,
    least: 1,
  })
  roles: Role[];

  @CodeField({
    description: 'Code of the party that they act for, and sign for; absent: none',
    optional: true,
  })
  party?: string;
}

@ObjectType({ description: 'Who has roles in a project.' })
export class Member extends MemberInput {
  @SubjectField({ description: 'Subject of the access tokens' })
  subject: string;
}
