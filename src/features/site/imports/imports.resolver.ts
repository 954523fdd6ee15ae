import { ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
import { ImportKind } from './import.models.js';
import { importKinds } from './import-kinds.js';
import { Kinds } from './kinds.service.js';

/** Uploads are REST only: GraphQL lists what can be uploaded. */
@Resolver(() => Project)
export class ImportsResolver {
  constructor(private readonly kinds: Kinds) {}

  @Permit('record.read')
  @ResolveField(() => [ImportKind], {
    description: 'The kinds of record that a table can be imported as, with their columns',
  })
  importKinds(): ImportKind[] {
    return importKinds(this.kinds);
  }
}
