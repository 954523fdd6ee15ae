import { ArgsType } from '@nestjs/graphql';
import { CodeField } from './fields.js';

/** Natural keys as used in addresses and in GraphQL arguments. */
@ArgsType()
export class ProjectPath {
  @CodeField({ description: 'Code of the project' })
  project: string;
}

@ArgsType()
export class DrivePath extends ProjectPath {
  @CodeField({ description: 'Code of the drive' })
  drive: string;
}
