import {
  Body,
  Controller,
  Delete,
  Get,
  Headers,
  HttpCode,
  Param,
  Post,
  Put,
  Query,
  Res,
} from '@nestjs/common';
import { ApiHeader, ApiResponse, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { tagged } from '../../../common/api/tagged.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  ClassAgreementInput,
  ClassDecision,
  ClassDecisionInput,
  ClassDecisionPage,
  ClassDecisionPath,
  ClassDisputeInput,
  ClassWithdrawalInput,
} from './class-decision.models.js';
import { ClassDecisionsService } from './class-decisions.service.js';

const NAMED = { name: 'If-Match', required: true, description: 'Entity tag of the version that you act on' };

@ApiTags('Ground classes')
@Controller('v1/projects/:project/drives/:drive/class-decisions')
export class ClassDecisionsController {
  constructor(private readonly decisions: ClassDecisionsService) {}

  @Permit('record.read')
  @Get()
  @Answer('The class decisions of a drive, by number; a page at a time', ClassDecisionPage)
  page(@Param() { drive }: DrivePath, @Query() page: PageArgs): Promise<ClassDecisionPage> {
    return this.decisions.page(drive, pageOf(page, 0));
  }

  @Permit('record.read')
  @Get(':number')
  @Answer('One class decision, with its entity tag', ClassDecision)
  async get(
    @Param() { drive, number }: ClassDecisionPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ClassDecision> {
    return tagged(reply, await this.decisions.get(drive, number));
  }

  @Permit('class.propose')
  @Put(':number')
  @ApiHeader({ name: 'If-Match', required: false, description: 'Entity tag of the proposal to replace' })
  @ApiHeader({ name: 'If-None-Match', required: false, description: '*: create only' })
  @ApiResponse({ status: 201, type: ClassDecision, description: 'created' })
  @Answer('Proposes a class decision, or replaces a proposal; safe to repeat', ClassDecision)
  async put(
    @Param() { drive, number }: ClassDecisionPath,
    @Body() input: ClassDecisionInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Headers('if-none-match') ifNoneMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ClassDecision> {
    const precondition = { ifMatch, createOnly: ifNoneMatch?.trim() === '*' };
    const { decision, created } = await this.decisions.put(drive, number, input, precondition);
    void reply.status(created ? 201 : 200);
    return tagged(reply, decision);
  }

  @Permit('class.propose')
  @Delete(':number')
  @HttpCode(204)
  @ApiHeader(NAMED)
  @Answer('Withdraws a proposal')
  async remove(
    @Param() { drive, number }: ClassDecisionPath,
    @Headers('if-match') ifMatch: string | undefined,
  ): Promise<void> {
    await this.decisions.remove(drive, number, ifMatch);
  }

  @Permit('class.agree')
  @Post(':number/agree')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('Agrees to a class decision; never by the proposer', ClassDecision)
  async agree(
    @Param() { drive, number }: ClassDecisionPath,
    @Body() named: ClassAgreementInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ClassDecision> {
    return tagged(reply, await this.decisions.agree(drive, number, ifMatch, named));
  }

  @Permit('class.agree')
  @Post(':number/dispute')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('Disputes a proposal, with a reason; never by the proposer', ClassDecision)
  async dispute(
    @Param() { drive, number }: ClassDecisionPath,
    @Body() { reason }: ClassDisputeInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ClassDecision> {
    return tagged(reply, await this.decisions.dispute(drive, number, ifMatch, reason));
  }

  @Permit('class.agree')
  @Post(':number/withdraw')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('Withdraws an agreed or disputed class decision, for a reason', ClassDecision)
  async withdraw(
    @Param() { drive, number }: ClassDecisionPath,
    @Body() { reason }: ClassWithdrawalInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ClassDecision> {
    return tagged(reply, await this.decisions.withdraw(drive, number, ifMatch, reason));
  }
}
