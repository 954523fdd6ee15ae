import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { oneOf } from '../../../common/api/one-of.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Member, MemberInput, MemberPath } from './member.models.js';
import { MembersService } from './members.service.js';

@ApiTags('Members')
@Controller('v1/projects/:project/members')
export class MembersController {
  constructor(private readonly members: MembersService) {}

  @Permit('members.read')
  @Get()
  @Answer('The members of a project, by subject', [Member])
  list(@Param() _path: ProjectPath): Promise<Member[]> {
    return this.members.list();
  }

  @Permit('members.read')
  @Get(':subject')
  @Answer('One member', Member)
  get(@Param() { subject }: MemberPath): Promise<Member> {
    return oneOf(this.members.list(), (each) => each.subject === subject, `member ${subject}`);
  }

  @Permit('members.write')
  @Put(':subject')
  @Answer(
    'Sets the roles of a subject and the party it acts for; a subject without roles is not a member',
    Member,
  )
  put(@Param() { subject }: MemberPath, @Body() input: MemberInput): Promise<Member> {
    return this.members.put(subject, input);
  }

  @Permit('members.write')
  @Delete(':subject')
  @HttpCode(204)
  @Answer('Takes all roles from a member')
  async remove(@Param() { subject }: MemberPath): Promise<void> {
    await this.members.remove(subject);
  }
}
