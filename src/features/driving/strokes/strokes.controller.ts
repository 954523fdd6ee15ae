import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { Multipart } from '../../../common/api/multipart.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import type { JsonText } from '../../../common/database/json-rows.js';
import { Permit } from '../../../common/auth/permit.js';
import { StrokeImportForm } from './import-form.model.js';
import { StrokeImportReport } from './import-report.model.js';
import { StrokeImportService } from './stroke-import.service.js';
import { StrokePage } from './stroke.model.js';
import { StrokesService } from './strokes.service.js';

@ApiTags('Strokes')
@Controller('v1/projects/:project/drives/:drive/strokes')
export class StrokesController {
  constructor(
    private readonly strokes: StrokesService,
    private readonly imports: StrokeImportService,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer('The strokes of a drive, by number, a page at a time', StrokePage)
  page(@Param() { drive }: DrivePath, @Query() page: PageArgs): Promise<StrokePage> {
    return this.strokes.page(drive, pageOf(page, -1));
  }

  /** GraphQL has no upload: it reads the strokes that a table brought, as it reads those of shifts. */
  @Permit('strokes.import')
  @Heavy()
  @Post('import')
  @HttpCode(200)
  @Multipart()
  @Answer(
    'Imports a table of strokes whole, or refuses it; safe to repeat. A dry run answers 200 with the rejected rows in its report',
    StrokeImportReport,
  )
  import(
    @Param() { drive }: DrivePath,
    @Body() { file, ...options }: StrokeImportForm,
  ): Promise<JsonText<StrokeImportReport>> {
    return this.imports.take(drive, file, options);
  }
}
