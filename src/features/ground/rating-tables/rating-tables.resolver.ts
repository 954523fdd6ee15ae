import { Args, Query, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { RatingEdition, RatingEditionHead, RatingEditionPath } from './rating-table.models.js';
import { RatingTablesService } from './rating-tables.service.js';

@Resolver(() => RatingEdition)
export class RatingTablesResolver {
  constructor(private readonly tables: RatingTablesService) {}

  @Permit('record.read')
  @Query(() => [RatingEditionHead], { description: 'The editions of rating tables' })
  ratingTables(): RatingEditionHead[] {
    return this.tables.list();
  }

  @Permit('record.read')
  @Query(() => RatingEdition, { description: 'One edition with its tables and their rows' })
  ratingTable(@Args() { edition }: RatingEditionPath): RatingEdition {
    return this.tables.get(edition);
  }
}
