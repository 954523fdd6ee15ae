import { Args, ArgsType, Query, Resolver } from '@nestjs/graphql';
import { IntField } from '../../common/api/fields.js';
import { PageArgs, pageOf } from '../../common/api/paging.js';
import { ProjectPath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { ChangePage, HistoryHead, RowChangePage } from './history.models.js';
import { HistoryService } from './history.service.js';

@ArgsType()
class ChangeArgs extends ProjectPath {
  @IntField({ description: 'Number of the change', min: 1 })
  number: number;
}

@Resolver()
export class HistoryResolver {
  constructor(private readonly history: HistoryService) {}

  @Permit('history.read')
  @Query(() => ChangePage, { description: 'The changes of the record, by number, a page at a time' })
  changes(@Args() _path: ProjectPath, @Args() page: PageArgs): Promise<ChangePage> {
    return this.history.changes(pageOf(page, 0));
  }

  @Permit('history.read')
  @Query(() => HistoryHead, { description: 'The newest change, to be noted elsewhere' })
  historyHead(@Args() _path: ProjectPath): Promise<HistoryHead> {
    return this.history.head();
  }

  @Permit('history.read')
  @Query(() => RowChangePage, { description: 'What a change did, row by row, a page at a time' })
  rowChanges(@Args() { number }: ChangeArgs, @Args() page: PageArgs): Promise<RowChangePage> {
    return this.history.rows(number, pageOf(page, 0));
  }
}
