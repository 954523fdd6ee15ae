import { Controller, Get, Param, Res } from '@nestjs/common';
import { ApiExcludeController } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { DrivePath } from '../../../common/api/paths.js';
import { type Caller, CallerOf } from '../../../common/auth/caller.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { LOCAL_SUBJECT } from '../../../common/auth/principal.js';
import { answerPage } from '../../../common/html/page.js';
import { drivePage } from './drive-page.js';
import { drivePath, drivesPage } from './drives-page.js';
import { PageService } from './page.service.js';

/** Pages for people; programs use the API, whose description leaves these routes out. */
@ApiExcludeController()
@Controller()
export class PageController {
  constructor(private readonly pages: PageService) {}

  /** A reader with only one drive is redirected to it. */
  @Permit('record.read')
  @Get()
  async drives(@CallerOf() caller: Caller, @Res({ passthrough: true }) reply: FastifyReply): Promise<string> {
    const listed = await this.pages.drivesOf(caller);
    const [only, ...more] = listed;
    if (only && more.length === 0) {
      const location = drivePath(only.project.code, only.drive.code);
      void reply.status(302).header('location', location).header('cache-control', 'private, no-store');
      return '';
    }
    const { subject } = caller.principal;
    return answerPage(reply, drivesPage(listed, { subject, isLocal: subject === LOCAL_SUBJECT }));
  }

  @Permit('record.read')
  @Heavy()
  @Get('projects/:project/drives/:drive')
  async drive(
    @Param() { drive }: DrivePath,
    @CallerOf() caller: Caller,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    return answerPage(reply, drivePage(await this.pages.drive(caller, drive)));
  }
}
