import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Project } from '../../site/projects/project.model.js';
import {
  AcceptanceRule,
  AcceptanceRuleInput,
  AcceptanceRulePath,
  ShiftAcceptance,
} from './acceptance.models.js';
import { AcceptanceService } from './acceptance.service.js';

@Resolver(() => Project)
export class AcceptanceResolver {
  constructor(private readonly acceptance: AcceptanceService) {}

  @Permit('record.read')
  @ResolveField(() => [AcceptanceRule], {
    description: 'Days after which an unanswered shift is deemed accepted',
  })
  acceptanceRules(): Promise<AcceptanceRule[]> {
    return this.acceptance.rules();
  }

  @Permit('project.write')
  @Mutation(() => AcceptanceRule, {
    description: 'Creates or replaces the rule of deemed acceptance from a date on',
  })
  putAcceptanceRule(
    @Args() { validFrom }: AcceptanceRulePath,
    @Args('input', { description: 'Its new content' }) input: AcceptanceRuleInput,
  ): Promise<AcceptanceRule> {
    return this.acceptance.putRule(validFrom, input);
  }

  @Permit('valuation.agree')
  @Mutation(() => AcceptanceRule, {
    description:
      'Agrees to a rule of deemed acceptance for a side, with the wording it agrees to; in force once both sides have agreed',
  })
  agreeAcceptanceRule(
    @Args() { validFrom }: AcceptanceRulePath,
    @Args('input', { description: 'The rule, as agreed to' }) input: AcceptanceRuleInput,
  ): Promise<AcceptanceRule> {
    return this.acceptance.agreeRule(validFrom, input);
  }

  @Permit('project.write')
  @Mutation(() => Boolean, { description: 'Removes a rule of deemed acceptance' })
  async removeAcceptanceRule(@Args() { validFrom }: AcceptanceRulePath): Promise<boolean> {
    await this.acceptance.removeRule(validFrom);
    return true;
  }
}

@Resolver(() => Drive)
export class ShiftAcceptanceResolver {
  constructor(private readonly acceptance: AcceptanceService) {}

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [ShiftAcceptance], { description: 'Acceptance of each shift' })
  async shiftAcceptance(@Parent() { code }: Drive, @Args() range: DateRange): Promise<ShiftAcceptance[]> {
    return (await this.acceptance.shifts(code, range)).rowsInTurns();
  }
}
