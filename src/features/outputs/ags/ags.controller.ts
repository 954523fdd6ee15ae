import { Controller, Get, Param, Query, Res } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { AgsExportService } from './ags-export.service.js';
import { AgsIssue } from './ags.models.js';

const PLAIN = 'text/plain';

/** REST only: GraphQL has no files. */
@ApiTags('Ground logs')
@Controller('v1/projects/:project/drives/:drive')
export class AgsController {
  constructor(private readonly exports: AgsExportService) {}

  @Permit('record.read')
  @Heavy()
  @Get('ags')
  @FileAnswer(
    'Probe holes, ground, water strikes, water tests and discontinuities of a drive as a file of AGS 4.1.1',
    PLAIN,
  )
  async file(
    @Param() { drive }: DrivePath,
    @Query() issue: AgsIssue,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    const file = await this.exports.file(drive, issue);
    setFileHeaders(reply, `${PLAIN}; charset=us-ascii`, `${drive}.ags`);
    return file;
  }
}
