import { ArgsType, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { ChoicesField, CodeField } from '../../common/api/fields.js';
import { ProjectPath } from '../../common/api/paths.js';
import { ROLES, type Role } from '../../common/auth/permissions.js';
import { Role as RoleEnum } from '../../generated/prisma/enums.js';
import { SubjectField } from './subject.js';

registerEnumType(RoleEnum, { name: 'Role', description: 'What a member may do in a project.' });

@ArgsType()
export class MemberPath extends ProjectPath {
  @SubjectField({ description: 'Subject of the access tokens' })
  subject: string;
}

@InputType()
@ObjectType({ isAbstract: true })
export class MemberInput {
  @ChoicesField({ description: 'Roles in the project', values: ROLES, name: 'Role', graphql: RoleEnum })
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
