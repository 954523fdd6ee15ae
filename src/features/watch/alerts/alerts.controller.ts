import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Alert,
  AlertAcknowledgementInput,
  AlertFilter,
  AlertPage,
  AlertPath,
  AlertRule,
  AlertRuleInput,
  AlertRulePath,
} from './alert.models.js';
import { AlertsService } from './alerts.service.js';

@ApiTags('Alerts')
@Controller('v1/projects/:project')
export class AlertsController {
  constructor(private readonly alerts: AlertsService) {}

  @Permit('record.read')
  @Get('alert-rules')
  @Answer('What the project wants to be warned of, by code', [AlertRule])
  rules(@Param() _path: ProjectPath): Promise<AlertRule[]> {
    return this.alerts.rules();
  }

  @Permit('record.read')
  @Get('alert-rules/:code')
  @Answer('One alert rule', AlertRule)
  rule(@Param() { code }: AlertRulePath): Promise<AlertRule> {
    return this.alerts.rule(code);
  }

  @Permit('catalogue.write')
  @Put('alert-rules/:code')
  @Answer('Creates or replaces an alert rule; what holds already is raised at once', AlertRule)
  putRule(@Param() { code }: AlertRulePath, @Body() input: AlertRuleInput): Promise<AlertRule> {
    return this.alerts.putRule(code, input);
  }

  @Permit('catalogue.write')
  @Delete('alert-rules/:code')
  @HttpCode(204)
  @Answer('Removes an alert rule; what it raised stays, and is cleared')
  async removeRule(@Param() { code }: AlertRulePath): Promise<void> {
    await this.alerts.removeRule(code);
  }

  @Permit('record.read')
  @Get('alerts')
  @Answer('The alerts of the project, cleared ones too, by number; a page at a time', AlertPage)
  page(@Param() _path: ProjectPath, @Query() filter: AlertFilter): Promise<AlertPage> {
    return this.alerts.page(filter);
  }

  @Permit('record.read')
  @Get('alerts/:number')
  @Answer('One alert', Alert)
  get(@Param() { number }: AlertPath): Promise<Alert> {
    return this.alerts.get(number);
  }

  @Permit('alert.acknowledge')
  @Post('alerts/:number/acknowledge')
  @HttpCode(200)
  @Answer('Acknowledges an alert, once, for a reason; it stays open as long as it holds', Alert)
  acknowledge(@Param() { number }: AlertPath, @Body() { reason }: AlertAcknowledgementInput): Promise<Alert> {
    return this.alerts.acknowledge(number, reason);
  }
}
