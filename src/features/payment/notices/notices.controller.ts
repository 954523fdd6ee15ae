import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { oneOf } from '../../../common/api/one-of.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Notice,
  NoticeInput,
  NoticePath,
  NoticeRule,
  NoticeRuleInput,
  NoticeRulePath,
} from './notice.models.js';
import { NoticesService } from './notices.service.js';

@ApiTags('Notices')
@Controller('v1/projects/:project')
export class NoticesController {
  constructor(private readonly notices: NoticesService) {}

  @Permit('record.read')
  @Get('notice-rules')
  @Answer('What must be notified within how many days, by code', [NoticeRule])
  rules(@Param() _path: ProjectPath): Promise<NoticeRule[]> {
    return this.notices.rules();
  }

  @Permit('record.read')
  @Get('notice-rules/:code')
  @Answer('One rule of notices', NoticeRule)
  rule(@Param() { code }: NoticeRulePath): Promise<NoticeRule> {
    return oneOf(this.notices.rules(), (each) => each.code === code, `notice rule ${code}`);
  }

  @Permit('catalogue.write')
  @Put('notice-rules/:code')
  @Answer('Creates or replaces a rule; the notices under it go by it', NoticeRule)
  putRule(@Param() { code }: NoticeRulePath, @Body() input: NoticeRuleInput): Promise<NoticeRule> {
    return this.notices.putRule(code, input);
  }

  @Permit('catalogue.write')
  @Delete('notice-rules/:code')
  @HttpCode(204)
  @Answer('Removes a rule under which there is no notice')
  async removeRule(@Param() { code }: NoticeRulePath): Promise<void> {
    await this.notices.removeRule(code);
  }

  @Permit('record.read')
  @Get('drives/:drive/notices')
  @Answer('The notices of a drive, by the day on which they are due', [Notice])
  list(@Param() { drive }: DrivePath): Promise<Notice[]> {
    return this.notices.list(drive);
  }

  @Permit('record.read')
  @Get('drives/:drive/notices/:code')
  @Answer('One notice', Notice)
  get(@Param() { drive, code }: NoticePath): Promise<Notice> {
    return this.notices.get(drive, code);
  }

  @Permit('notice.write')
  @Put('drives/:drive/notices/:code')
  @Answer('Creates or replaces a notice', Notice)
  put(@Param() { drive, code }: NoticePath, @Body() input: NoticeInput): Promise<Notice> {
    return this.notices.put(drive, code, input);
  }

  @Permit('notice.write')
  @Delete('drives/:drive/notices/:code')
  @HttpCode(204)
  @Answer('Removes a notice')
  async remove(@Param() { drive, code }: NoticePath): Promise<void> {
    await this.notices.remove(drive, code);
  }
}
