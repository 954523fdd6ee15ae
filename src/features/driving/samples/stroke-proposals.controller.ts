import { Body, Controller, Get, Headers, HttpCode, Param, Post, Res } from '@nestjs/common';
import { ApiHeader, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { IntField } from '../../../common/api/fields.js';
import { Creates } from '../../../common/api/location.js';
import { DrivePath } from '../../../common/api/paths.js';
import { tagged } from '../../../common/api/tagged.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { AcceptProposalService } from './accept-proposal.service.js';
import {
  AcceptedStrokeProposal,
  AcceptProposalInput,
  StrokeProposal,
  StrokeProposalHead,
  StrokeProposalInput,
} from './proposal.models.js';
import { ProposalsService } from './proposals.service.js';

class ProposalPath extends DrivePath {
  @IntField({ description: 'Number of the proposal', min: 1 })
  number: number;
}

@ApiTags('Machine samples')
@Controller('v1/projects/:project/drives/:drive/stroke-proposals')
export class StrokeProposalsController {
  constructor(
    private readonly proposals: ProposalsService,
    private readonly acceptance: AcceptProposalService,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer('The proposals of strokes, the newest first, at most 1000', [StrokeProposalHead])
  list(@Param() { drive }: DrivePath): Promise<StrokeProposalHead[]> {
    return this.proposals.list(drive);
  }

  @Permit('samples.write')
  @Heavy()
  @Post()
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
  @Get(':number')
  @Answer('A proposal of strokes beside what was posted, with its entity tag', StrokeProposal)
  async get(
    @Param() { drive, number }: ProposalPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StrokeProposal> {
    return tagged(reply, await this.proposals.get(drive, number));
  }

  @Permit('strokes.import')
  @Post(':number/accept')
  @HttpCode(200)
  @ApiHeader({ name: 'If-Match', required: true, description: 'Entity tag of the proposal' })
  @Answer(
    'Books the borings of a proposal as imported strokes, once; whole, or refused with what they meet',
    AcceptedStrokeProposal,
  )
  async accept(
    @Param() { drive, number }: ProposalPath,
    @Body() input: AcceptProposalInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<AcceptedStrokeProposal> {
    return tagged(reply, await this.acceptance.accept(drive, number, ifMatch, input));
  }
}
