import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Project } from '../../site/projects/project.model.js';
import {
  Notice,
  NoticeInput,
  NoticePath,
  NoticeRule,
  NoticeRuleInput,
  NoticeRulePath,
} from './notice.models.js';
import { NoticesService } from './notices.service.js';

@Resolver(() => Project)
export class NoticeRulesResolver {
  constructor(private readonly notices: NoticesService) {}

  @Permit('record.read')
  @ResolveField(() => [NoticeRule], { description: 'What must be notified within how many days' })
  noticeRules(): Promise<NoticeRule[]> {
    return this.notices.rules();
  }

  @Permit('catalogue.write')
  @Mutation(() => NoticeRule, { description: 'Creates or replaces a rule; the notices under it go by it' })
  putNoticeRule(
    @Args() { code }: NoticeRulePath,
    @Args('input', { description: 'Its new content' }) input: NoticeRuleInput,
  ): Promise<NoticeRule> {
    return this.notices.putRule(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a rule under which there is no notice' })
  async removeNoticeRule(@Args() { code }: NoticeRulePath): Promise<boolean> {
    await this.notices.removeRule(code);
    return true;
  }
}

@Resolver(() => Drive)
export class NoticesResolver {
  constructor(private readonly service: NoticesService) {}

  @Permit('record.read')
  @ResolveField(() => [Notice], { description: 'The notices, by the day on which they are due' })
  notices(@Parent() { code }: Drive): Promise<Notice[]> {
    return this.service.list(code);
  }

  @Permit('notice.write')
  @Mutation(() => Notice, { description: 'Creates or replaces a notice' })
  putNotice(
    @Args() { drive, code }: NoticePath,
    @Args('input', { description: 'Its new content' }) input: NoticeInput,
  ): Promise<Notice> {
    return this.service.put(drive, code, input);
  }

  @Permit('notice.write')
  @Mutation(() => Boolean, { description: 'Removes a notice' })
  async removeNotice(@Args() { drive, code }: NoticePath): Promise<boolean> {
    await this.service.remove(drive, code);
    return true;
  }
}
