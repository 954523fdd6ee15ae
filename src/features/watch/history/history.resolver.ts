import { Args, ArgsType, Context, Query, Resolver, Subscription } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField, EnumField, IntField } from '../../../common/api/fields.js';
import type { SocketContext } from '../../../common/api/graphql-sockets.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { SinceField } from '../live/since-field.js';
import { ChangeStreams } from './change-stream.service.js';
import {
  Change,
  type ChangeCut,
  ChangeFilter,
  ChangeKind,
  DRIVE_CUT,
  HistoryHead,
  KIND_CUT,
  RowChange,
} from './history.models.js';
import { HistoryService } from './history.service.js';

@ArgsType()
class ChangeArgs extends ProjectPath {
  @IntField({ description: 'Number of the change', min: 1 })
  number: number;
}

const ChangeConnection = connectionOf(Change, 'Change');

const RowChangeConnection = connectionOf(RowChange, 'RowChange');

@ArgsType()
class FollowArgs extends ProjectPath implements ChangeCut {
  @SinceField()
  since?: number;

  @CodeField(DRIVE_CUT)
  drive?: string;

  @EnumField(KIND_CUT)
  kind?: ChangeKind;
}

@Resolver()
export class HistoryResolver {
  constructor(
    private readonly history: HistoryService,
    private readonly streams: ChangeStreams,
  ) {}

  @Permit('history.read')
  @Query(() => ChangeConnection, { description: 'The changes of the record, by number, a page at a time' })
  async changes(
    @Args() _path: ProjectPath,
    @Args() filter: ChangeFilter,
  ): Promise<InstanceType<typeof ChangeConnection>> {
    return connected(await this.history.page(filter), 'number');
  }

  @Permit('history.read')
  @Subscription(() => Change, {
    name: 'changes',
    description: 'The changes of the record by number, from now on or since a change',
    resolve: (change: Change) => change,
  })
  followChanges(
    @Args() { since, drive, kind }: FollowArgs,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<Change>> {
    return this.streams.follow(authorization, since ?? undefined, { drive, kind });
  }

  @Permit('history.read')
  @Query(() => HistoryHead, { description: 'The newest change, to be noted outside the database' })
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
