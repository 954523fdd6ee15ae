import { Args, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
import { Member, MemberInput, MemberPath } from './member.models.js';
import { MembersService } from './members.service.js';

@Resolver(() => Project)
export class MembersResolver {
  constructor(private readonly service: MembersService) {}

  @Permit('members.read')
  @ResolveField(() => [Member], { description: 'The members, by subject' })
  members(): Promise<Member[]> {
    return this.service.list();
  }

  @Permit('members.write')
  @Mutation(() => Member, {
    description:
      'Sets the roles of a subject and the party it acts for; a subject without roles is not a member',
  })
  putMember(
    @Args() { subject }: MemberPath,
    @Args('input', { description: 'Its new content' }) input: MemberInput,
  ): Promise<Member> {
    return this.service.put(subject, input);
  }

  @Permit('members.write')
  @Mutation(() => Boolean, { description: 'Takes all roles from a member' })
  async removeMember(@Args() { subject }: MemberPath): Promise<boolean> {
    await this.service.remove(subject);
    return true;
  }
}
