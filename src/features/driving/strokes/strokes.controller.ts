import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { StrokePage } from './stroke.model.js';
import { StrokesService } from './strokes.service.js';

@ApiTags('Strokes')
@Controller('v1/projects/:project/drives/:drive/strokes')
export class StrokesController {
  constructor(private readonly strokes: StrokesService) {}

  @Permit('record.read')
  @Get()
  @Answer('The strokes of a drive, by number, a page at a time', StrokePage)
  page(@Param() { drive }: DrivePath, @Query() page: PageArgs): Promise<StrokePage> {
    return this.strokes.page(drive, pageOf(page, -1));
  }
}
