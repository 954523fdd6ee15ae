import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import {
  AcceptanceRule,
  AcceptanceRuleInput,
  AcceptanceRulePath,
  ShiftAcceptance,
} from './acceptance.models.js';
import { AcceptanceService } from './acceptance.service.js';

@ApiTags('Shifts')
@Controller('v1/projects/:project')
export class AcceptanceController {
  constructor(private readonly acceptance: AcceptanceService) {}

  @Permit('record.read')
  @Get('acceptance-rules')
  @Answer(
    'Days after which an unanswered shift is deemed accepted, by the date from which a rule is in force',
    [AcceptanceRule],
  )
  rules(@Param() _path: ProjectPath): Promise<AcceptanceRule[]> {
    return this.acceptance.rules();
  }

  @Permit('record.read')
  @Get('acceptance-rules/:validFrom')
  @Answer('The rule of deemed acceptance from a date on', AcceptanceRule)
  rule(@Param() { validFrom }: AcceptanceRulePath): Promise<AcceptanceRule> {
    return this.acceptance.rule(validFrom);
  }

  @Permit('project.write')
  @Put('acceptance-rules/:validFrom')
  @Answer('Creates or replaces the rule of deemed acceptance from a date on', AcceptanceRule)
  putRule(
    @Param() { validFrom }: AcceptanceRulePath,
    @Body() input: AcceptanceRuleInput,
  ): Promise<AcceptanceRule> {
    return this.acceptance.putRule(validFrom, input);
  }

  @Permit('valuation.agree')
  @Post('acceptance-rules/:validFrom/agree')
  @HttpCode(200)
  @Answer(
    'Agrees to a rule of deemed acceptance for a side, with the wording it agrees to; in force once both sides have agreed',
    AcceptanceRule,
  )
  agreeRule(
    @Param() { validFrom }: AcceptanceRulePath,
    @Body() input: AcceptanceRuleInput,
  ): Promise<AcceptanceRule> {
    return this.acceptance.agreeRule(validFrom, input);
  }

  @Permit('project.write')
  @Delete('acceptance-rules/:validFrom')
  @HttpCode(204)
  @Answer('Removes a rule of deemed acceptance')
  async removeRule(@Param() { validFrom }: AcceptanceRulePath): Promise<void> {
    await this.acceptance.removeRule(validFrom);
  }

  @Permit('record.read')
  @Heavy()
  @Get('drives/:drive/shift-acceptance')
  @Answer('Acceptance of each shift: submitted, disputed, deemed accepted, countersigned', [ShiftAcceptance])
  shifts(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<ShiftAcceptance>> {
    return this.acceptance.shifts(drive, range);
  }
}
