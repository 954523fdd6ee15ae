import { Controller, Get, HttpCode, Param, Post, Query, Req } from '@nestjs/common';
import { ApiBody, ApiConsumes, ApiExtraModels, ApiTags, getSchemaPath } from '@nestjs/swagger';
import type { FastifyRequest } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { NDJSON, Streamed } from '../../../common/api/streamed.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { SampleUploadService } from './sample-upload.service.js';
import { SampleForm, SamplePage, SampleRange, SampleSummary, SampleUploadReport } from './sample.models.js';
import { SamplesService } from './samples.service.js';

@ApiTags('Machine samples')
@Controller('v1/projects/:project/drives/:drive/samples')
export class SamplesController {
  constructor(
    private readonly samples: SamplesService,
    private readonly uploads: SampleUploadService,
  ) {}

  /** REST only: GraphQL has no upload. */
  @Permit('samples.write')
  @Post()
  @HttpCode(200)
  @Streamed({ lines: true })
  @ApiConsumes('multipart/form-data', NDJSON)
  @ApiExtraModels(SampleForm)
  @ApiBody({
    schema: {
      oneOf: [
        { $ref: getSchemaPath(SampleForm) },
        {
          type: 'string',
          description: `As ${NDJSON}: one sample per line, with the fields of the map as its properties`,
        },
      ],
    },
  })
  @Answer(
    'Stores machine samples, up to 512 MB; bad rows are reported and the others stored. Safe to repeat: a sample that exists is left as it is',
    SampleUploadReport,
  )
  upload(@Param() { drive }: DrivePath, @Req() request: FastifyRequest): Promise<SampleUploadReport> {
    return this.uploads.take(drive, request);
  }

  @Permit('record.read')
  @Get()
  @Answer(
    'Machine samples, in the order of time, a page at a time. They have one version: asOf changes nothing',
    SamplePage,
  )
  page(@Param() { drive }: DrivePath, @Query() range: SampleRange): Promise<SamplePage> {
    return this.samples.page(drive, range);
  }

  @Permit('record.read')
  @Heavy()
  @Get('summary')
  @Answer('Which machine samples there are, by production day', SampleSummary)
  summary(@Param() { drive }: DrivePath, @Query() days: DateRange): Promise<SampleSummary> {
    return this.samples.summary(drive, days);
  }
}
