import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { ChoicesField, CodeField, InstantField, TextField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { type Permission, PERMISSIONS } from '../../../common/auth/permissions.js';

@ArgsType()
export class ApiKeyPath extends ProjectPath {
  @CodeField({ description: 'Prefix of the key: its part after dbk_' })
  prefix: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
class NamedScopes {
  @CodeField({ description: 'Who uses it; the subject is key: and this name' })
  name: string;

  @ChoicesField({
    description: 'Permissions, at least one',
    values: PERMISSIONS,
    name: 'Permission',
    least: 1,
  })
  scopes: Permission[];
}

@InputType({ description: 'What a new API key may do, and when it expires.' })
export class ApiKeyInput extends NamedScopes {
  @InstantField({ description: 'When it expires: 90 days ahead unless given, at most 400', optional: true })
  expiresAt?: string;

  @CodeField({
    description: 'Code of the party that it acts for; absent: as the live key of this name, else for none',
    optional: true,
  })
  party?: string;
}

@ObjectType({ description: 'A machine’s key, without its secret.' })
export class ApiKey extends NamedScopes {
  @CodeField({ description: 'Code of the party that it acts for', optional: true })
  party?: string;

  @TextField({ description: 'Its part after dbk_, by which lists and history name it' })
  prefix: string;

  @InstantField({ description: 'When it was made' })
  createdAt: string;

  @TextField({ description: 'Who made it' })
  createdBy: string;

  @InstantField({ description: 'When it ends' })
  expiresAt: string;

  @InstantField({ description: 'When it was revoked', optional: true })
  revokedAt?: string;

  @TextField({ description: 'Who revoked it', optional: true })
  revokedBy?: string;

  @InstantField({
    description: 'When it was last used, to the minute; absent when asking as of a past moment',
    optional: true,
  })
  lastUsedAt?: string;
}

@ObjectType({ description: 'A new key with its full text.' })
export class NewApiKey extends ApiKey {
  @TextField({
    description: 'The key, to be sent as Authorization: Bearer; shown only this once and not stored',
  })
  key: string;
}
