import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import {
  GroundLogInput,
  GroundLogPage,
  GroundLogPath,
  GroundLogWithDoubts,
  GoverningReasonInput,
} from './ground-log.models.js';
import { GoverningLogService } from './governing-log.service.js';
import { GroundLogsService } from './ground-logs.service.js';
import {
  RockMassAt,
  RockMassIntervalArgs,
  RockMassOfInterval,
  RockMassPlaceArgs,
  RockMassShare,
} from './rock-mass.models.js';
import { RockMassService } from './rock-mass.service.js';
import { SupportGuide, SupportGuideArgs } from './support-guide.models.js';

@ApiTags('Ground logs')
@Controller('v1/projects/:project/drives/:drive')
export class GroundLogsController {
  constructor(
    private readonly logs: GroundLogsService,
    private readonly rockMass: RockMassService,
    private readonly governing: GoverningLogService,
  ) {}

  @Permit('record.read')
  @Get('ground-logs')
  @Answer(
    'The ground logs of a drive, or those that touch a part of it, along the drive; a page at a time',
    GroundLogPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: WindowPage): Promise<GroundLogPage> {
    return this.logs.page(drive, page);
  }

  @Permit('record.read')
  @Get('ground-logs/:name')
  @Answer('One ground log', GroundLogWithDoubts)
  get(@Param() { drive, name }: GroundLogPath): Promise<GroundLogWithDoubts> {
    return this.logs.get(drive, name);
  }

  @Permit('geology.write')
  @Put('ground-logs/:name')
  @Answer('Creates or replaces a ground log', GroundLogWithDoubts)
  put(@Param() { drive, name }: GroundLogPath, @Body() input: GroundLogInput): Promise<GroundLogWithDoubts> {
    return this.logs.put(drive, name, input);
  }

  @Permit('geology.write')
  @Delete('ground-logs/:name')
  @HttpCode(204)
  @Answer('Removes a ground log')
  async remove(@Param() { drive, name }: GroundLogPath): Promise<void> {
    await this.logs.remove(drive, name);
  }

  @Permit('class.propose')
  @Post('ground-logs/:name/propose-as-governing')
  @HttpCode(200)
  @Answer('Proposes a ground log as the governing one of its place, with a reason', GroundLogWithDoubts)
  proposeGoverning(
    @Param() { drive, name }: GroundLogPath,
    @Body() { reason }: GoverningReasonInput,
  ): Promise<GroundLogWithDoubts> {
    return this.governing.propose(drive, name, reason);
  }

  @Permit('class.propose')
  @Delete('ground-logs/:name/propose-as-governing')
  @Answer('Withdraws that proposal', GroundLogWithDoubts)
  removeGoverning(@Param() { drive, name }: GroundLogPath): Promise<GroundLogWithDoubts> {
    return this.governing.remove(drive, name);
  }

  @Permit('class.agree')
  @Post('ground-logs/:name/agree-as-governing')
  @HttpCode(200)
  @Answer('Agrees that a ground log governs its place; never by the proposer', GroundLogWithDoubts)
  agreeGoverning(@Param() { drive, name }: GroundLogPath): Promise<GroundLogWithDoubts> {
    return this.governing.agree(drive, name);
  }

  @Permit('class.agree')
  @Post('ground-logs/:name/withdraw-as-governing')
  @HttpCode(200)
  @Answer('Withdraws an agreed governing log, for a reason; never by the proposer', GroundLogWithDoubts)
  withdrawGoverning(
    @Param() { drive, name }: GroundLogPath,
    @Body() { reason }: GoverningReasonInput,
  ): Promise<GroundLogWithDoubts> {
    return this.governing.withdraw(drive, name, reason);
  }

  @Permit('record.read')
  @Get('ground-logs/:name/support-guide')
  @Answer('Decision support from a ground log; nothing of it is stored', SupportGuide)
  guide(@Param() { drive, name }: GroundLogPath, @Query() asked: SupportGuideArgs): Promise<SupportGuide> {
    return this.rockMass.guide(drive, name, asked);
  }

  @Permit('record.read')
  @Heavy()
  @Get('rock-mass')
  @Answer('Metres behind the face by class of Q and of RMR', [RockMassShare])
  byDrive(@Param() { drive }: DrivePath): Promise<RockMassShare[]> {
    return this.rockMass.byDrive(drive);
  }

  @Permit('record.read')
  @Get('rock-mass/at')
  @Answer('What the ground logs say of a place, and which of them counts', RockMassAt)
  at(@Param() { drive }: DrivePath, @Query() { chainage }: RockMassPlaceArgs): Promise<RockMassAt> {
    return this.rockMass.at(drive, chainage);
  }

  @Permit('record.read')
  @Heavy()
  @Get('rock-mass/intervals')
  @Answer('The same by intervals on round chainages', [RockMassOfInterval])
  byInterval(
    @Param() { drive }: DrivePath,
    @Query() { lengthM }: RockMassIntervalArgs,
  ): Promise<JsonRows<RockMassOfInterval>> {
    return this.rockMass.byInterval(drive, lengthM ?? 100);
  }
}
