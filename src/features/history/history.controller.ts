import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { IntField } from '../../common/api/fields.js';
import { PageArgs, pageOf } from '../../common/api/paging.js';
import { ProjectPath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { Change, ChangePage, HistoryHead, RowChangePage } from './history.models.js';
import { HistoryService } from './history.service.js';

class ChangePath extends ProjectPath {
  @IntField({ description: 'Number of the change', min: 1 })
  number: number;
}

@ApiTags('History')
@Controller('v1/projects/:project/history')
export class HistoryController {
  constructor(private readonly history: HistoryService) {}

  @Permit('history.read')
  @Get()
  @Answer('The changes of the record, by number, a page at a time', ChangePage)
  changes(@Param() _path: ProjectPath, @Query() page: PageArgs): Promise<ChangePage> {
    return this.history.changes(pageOf(page, 0));
  }

  @Permit('history.read')
  @Get('head')
  @Answer('The newest change, to be noted elsewhere', HistoryHead)
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
