import { Body, Controller, Get, Headers, HttpCode, Param, Post, Query, Req, Res } from '@nestjs/common';
import { ApiBody, ApiConsumes, ApiExtraModels, ApiHeader, ApiTags, getSchemaPath } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { Creates } from '../../../common/api/location.js';
import { IntField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { NDJSON, Streamed } from '../../../common/api/streamed.js';
import { tagged } from '../../../common/api/tagged.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { AcceptProposalService } from './accept-proposal.service.js';
import {
  AcceptProposalInput,
  StrokeProposal,
  StrokeProposalHead,
  StrokeProposalInput,
} from './proposal.models.js';
import { ProposalsService } from './proposals.service.js';
import { SampleUploadService } from './sample-upload.service.js';
import { SampleForm, SamplePage, SampleRange, SampleSummary, SampleUploadReport } from './sample.models.js';
import { SamplesService } from './samples.service.js';

class ProposalPath extends DrivePath {
  @IntField({ description: 'Number of the proposal', min: 1 })
  number: number;
}

@ApiTags('Machine samples')
@Controller('v1/projects/:project/drives/:drive/samples')
export class SamplesController {
  constructor(
    private readonly samples: SamplesService,
    private readonly uploads: SampleUploadService,
    private readonly proposals: ProposalsService,
    private readonly acceptance: AcceptProposalService,
  ) {}

  /** GraphQL has no upload. */
  @Permit('samples.write')
  @Post()
  @HttpCode(200)
  @Streamed()
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

  @Permit('record.read')
  @Get('proposals')
  @Answer('The proposals of strokes, the newest first, at most 1000', [StrokeProposalHead])
  list(@Param() { drive }: DrivePath): Promise<StrokeProposalHead[]> {
    return this.proposals.list(drive);
  }

  @Permit('samples.write')
  @Heavy()
  @Post('proposals')
  @Answer('Proposes strokes from the samples of a span; nothing is booked', StrokeProposal, 201)
  @Creates(({ number }: StrokeProposal) => number)
  async propose(
    @Param() { drive }: DrivePath,
    @Body() input: StrokeProposalInput,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StrokeProposal> {
    return tagged(reply, await this.proposals.propose(drive, input));
  }

  @Permit('record.read')
  @Get('proposals/:number')
  @Answer('A proposal of strokes beside what was posted, with its entity tag', StrokeProposal)
  async get(
    @Param() { drive, number }: ProposalPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StrokeProposal> {
    return tagged(reply, await this.proposals.get(drive, number));
  }

  @Permit('strokes.import')
  @Post('proposals/:number/accept')
  @HttpCode(200)
  @ApiHeader({ name: 'If-Match', required: true, description: 'Entity tag of the proposal' })
  @Answer(
    'Books the borings of a proposal as imported strokes, once; whole, or refused with what they meet',
    StrokeProposal,
  )
  async accept(
    @Param() { drive, number }: ProposalPath,
    @Body() input: AcceptProposalInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StrokeProposal> {
    return tagged(reply, await this.acceptance.accept(drive, number, ifMatch, input));
  }
}
