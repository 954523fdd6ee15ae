import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { MuckProgress, StrokeMuckPage } from './muck.models.js';
import { MuckService } from './muck.service.js';

@ApiTags('Muck')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/muck')
export class MuckController {
  constructor(private readonly muck: MuckService) {}

  @Permit('record.read')
  @Get()
  @Answer(
    'Muck by stroke: theory against the belt weigher, and the load on the belt; a page at a time',
    StrokeMuckPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: PageArgs): Promise<StrokeMuckPage> {
    return this.muck.page(drive, pageOf(page, -1));
  }

  @Permit('record.read')
  @Get('progress')
  @Answer('Muck of the drive to date: theory against the belt weigher', MuckProgress)
  progress(@Param() { drive }: DrivePath): Promise<MuckProgress> {
    return this.muck.progress(drive);
  }
}
