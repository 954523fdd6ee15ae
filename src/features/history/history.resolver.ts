import { Args, ArgsType, Query, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../common/api/connection.js';
import { IntField } from '../../common/api/fields.js';
import { PageArgs, pageOf } from '../../common/api/paging.js';
import { ProjectPath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { Change, HistoryHead, RowChange } from './history.models.js';
import { HistoryService } from './history.service.js';

@ArgsType()
class ChangeArgs extends ProjectPath {
  @IntField({ description: 'Number of the change', min: 1 })
  number: number;
}

const ChangeConnection = connectionOf(Change, 'Change');

const RowChangeConnection = connectionOf(RowChange, 'RowChange');

@Resolver()
export class HistoryResolver {
  constructor(private readonly history: HistoryService) {}

  @Permit('history.read')
  @Query(() => ChangeConnection, { description: 'The changes of the record, by number, a page at a time' })
  async changes(
    @Args() _path: ProjectPath,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof ChangeConnection>> {
    return connected(await this.history.changes(pageOf(page, 0)), 'number');
  }

  @Permit('history.read')
  @Query(() => HistoryHead, { description: 'The newest change, to be noted elsewhere' })
  async historyHead(@Args() _path: ProjectPath): Promise<HistoryHead> {
    return this.history.head();
  }

  @Permit('history.read')
  @Query(() => RowChangeConnection, { description: 'What a change did, row by row, a page at a time' })
  async rowChanges(
    @Args() { number }: ChangeArgs,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof RowChangeConnection>> {
    return connected(await this.history.rows(number, pageOf(page, 0)), 'line');
  }
}
