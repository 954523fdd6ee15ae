import { Controller, Get, Param, Query, Req, Res, type StreamableFile } from '@nestjs/common';
import { ApiHeader, ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Answer, Fails, PageOrEvents } from '../../../common/api/answer.js';
import { IntField } from '../../../common/api/fields.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { wantsEvents } from '../live/event-streams.service.js';
import { ChangeStreams } from './change-stream.service.js';
import { Change, ChangeFilter, ChangePage, HistoryHead, RowChangePage } from './history.models.js';
import { HistoryService } from './history.service.js';

class ChangePath extends ProjectPath {
  @IntField({ description: 'Number of the change', min: 1 })
  number: number;
}

@ApiTags('History')
@Controller('v1/projects/:project/changes')
export class HistoryController {
  constructor(
    private readonly history: HistoryService,
    private readonly streams: ChangeStreams,
  ) {}

  @Permit('history.read')
  @Get()
  @ApiHeader({
    name: 'Last-Event-ID',
    required: false,
    description:
      'Of an event stream: number of the last change that was received, sent on reconnecting; it takes precedence over `after`',
    schema: { type: 'string', pattern: '^(0|[1-9][0-9]{0,14})$' },
  })
  @Fails('beyond_history')
  @PageOrEvents(
    'The changes of the record by number, in the order in which they were made: a page of them, or, with Accept: text/event-stream, all after a number as they are made',
    ChangePage,
    {
      description:
        'The changes after `Last-Event-ID`, or after `after`, or from now on. Each is an event with the number of the change as its `id`; an `id` without data marks how far the history has been searched.',
      data: Change,
    },
  )
  changes(
    @Param() _path: ProjectPath,
    @Query() filter: ChangeFilter,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ChangePage | StreamableFile | undefined> {
    return wantsEvents(request) ? this.streams.events(request, reply, filter) : this.history.page(filter);
  }

  @Permit('history.read')
  @Get('head')
  @Answer('The newest change, to be noted outside the database', HistoryHead)
  head(@Param() _path: ProjectPath): Promise<HistoryHead> {
    return this.history.head();
  }

  @Permit('history.read')
  @Get(':number')
  @Answer('One change', Change)
  change(@Param() { number }: ChangePath): Promise<Change> {
    return this.history.change(number);
  }

  @Permit('history.read')
  @Get(':number/rows')
  @Answer('What a change did, row by row, a page at a time', RowChangePage)
  rows(@Param() { number }: ChangePath, @Query() page: PageArgs): Promise<RowChangePage> {
    return this.history.rows(number, pageOf(page, 0));
  }
}
