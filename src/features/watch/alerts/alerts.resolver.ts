import { Args, ArgsType, Context, Mutation, ResolveField, Resolver, Subscription } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField, IntField } from '../../../common/api/fields.js';
import type { SocketContext } from '../../../common/api/graphql-sockets.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../../site/projects/project.model.js';
import { SinceField } from '../live/since-field.js';
import {
  Alert,
  AlertAcknowledgementInput,
  AlertFilter,
  AlertNews,
  AlertPath,
  AlertRule,
  AlertRuleInput,
  AlertRulePath,
} from './alert.models.js';
import { AlertsService } from './alerts.service.js';

const AlertConnection = connectionOf(Alert, 'Alert');

@ArgsType()
class AlertArgs {
  @IntField({ description: 'Number of the alert', min: 1 })
  number: number;
}

@ArgsType()
class FollowAlerts extends ProjectPath {
  @SinceField()
  since?: number;

  @CodeField({ description: 'Only those of this drive', optional: true })
  drive?: string;
}

@Resolver(() => Project)
export class AlertsResolver {
  constructor(private readonly service: AlertsService) {}

  @Permit('record.read')
  @ResolveField(() => [AlertRule], { description: 'What the project wants to be warned of' })
  alertRules(): Promise<AlertRule[]> {
    return this.service.rules();
  }

  @Permit('record.read')
  @ResolveField(() => AlertConnection, {
    description: 'The alerts of the project, cleared ones too, by number; a page at a time',
  })
  async alerts(@Args() filter: AlertFilter): Promise<InstanceType<typeof AlertConnection>> {
    return connected(await this.service.page(filter), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => Alert, { description: 'One alert' })
  alert(@Args() { number }: AlertArgs): Promise<Alert> {
    return this.service.get(number);
  }

  @Permit('catalogue.write')
  @Mutation(() => AlertRule, {
    description: 'Creates or replaces an alert rule; what holds already is raised at once',
  })
  putAlertRule(
    @Args() { code }: AlertRulePath,
    @Args('input', { description: 'Its new content' }) input: AlertRuleInput,
  ): Promise<AlertRule> {
    return this.service.putRule(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, {
    description: 'Removes an alert rule; what it raised stays, and is cleared',
  })
  async removeAlertRule(@Args() { code }: AlertRulePath): Promise<boolean> {
    await this.service.removeRule(code);
    return true;
  }

  @Permit('alert.acknowledge')
  @Mutation(() => Alert, {
    description: 'Acknowledges an alert, once, for a reason; it stays open as long as it holds',
  })
  acknowledgeAlert(
    @Args() { number }: AlertPath,
    @Args('input', { description: 'Why' }) { reason }: AlertAcknowledgementInput,
  ): Promise<Alert> {
    return this.service.acknowledge(number, reason);
  }
}

@Resolver()
export class AlertNewsResolver {
  constructor(private readonly service: AlertsService) {}

  @Permit('record.read')
  @Subscription(() => AlertNews, {
    description:
      'Each alert of the project that is raised, acknowledged or cleared, from now on or since a change',
    resolve: (news: AlertNews) => news,
  })
  alertChanged(
    @Args() { drive, since }: FollowAlerts,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<AlertNews>> {
    return this.service.follow(authorization, drive, since);
  }
}
