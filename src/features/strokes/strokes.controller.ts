import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { PageArgs } from '../../common/api/paging.js';
import { DrivePath } from '../../common/api/paths.js';
import { StrokePage } from './stroke.model.js';
import { StrokesService } from './strokes.service.js';

@ApiTags('Strokes')
@Controller('v1/projects/:project/drives/:drive/strokes')
export class StrokesController {
  constructor(private readonly strokes: StrokesService) {}

  @Get()
  @Answer('The strokes of a drive, by number, a page at a time', StrokePage)
  page(
    @Param() { project, drive }: DrivePath,
    @Query() { first = 100, after = -1 }: PageArgs,
  ): Promise<StrokePage> {
    return this.strokes.page(project, drive, first, after);
  }
}
