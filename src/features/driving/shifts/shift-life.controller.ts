import { Body, Controller, Get, Headers, HttpCode, Param, Post, Res } from '@nestjs/common';
import { ApiHeader, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { IntField } from '../../../common/api/fields.js';
import { tagged } from '../../../common/api/tagged.js';
import { Permit } from '../../../common/auth/permit.js';
import { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import { DisputeShiftInput, ReopenInput, ShiftVersion } from './shift-life.models.js';
import { ShiftLifeService } from './shift-life.service.js';
import { ShiftPath } from './shift-path.js';

class VersionPath extends ShiftPath {
  @IntField({ description: 'Number of the change that made the version', min: 1 })
  change: number;
}

const NAMED = { name: 'If-Match', required: true, description: 'Entity tag of the version that you act on' };

@ApiTags('Shifts')
@Controller('v1/projects/:project/drives/:drive/shifts/:date/:shift')
export class ShiftLifeController {
  constructor(private readonly life: ShiftLifeService) {}

  @Permit('shift.countersign')
  @Post('countersign')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('Countersigns a submitted shift; never by somebody who posted it', ShiftReceipt)
  async countersign(
    @Param() path: ShiftPath,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftReceipt> {
    return tagged(reply, await this.life.countersign(path, ifMatch));
  }

  @Permit('shift.countersign')
  @Post('dispute')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('Disputes a submitted shift, with a reason; never by somebody who posted it', ShiftReceipt)
  async dispute(
    @Param() path: ShiftPath,
    @Body() { reason }: DisputeShiftInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftReceipt> {
    return tagged(reply, await this.life.dispute(path, ifMatch, reason));
  }

  @Permit('shift.reopen')
  @Post('reopen')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer(
    'Reopens a countersigned shift as a draft, with a reason; never by somebody who posted it',
    ShiftReceipt,
  )
  async reopen(
    @Param() path: ShiftPath,
    @Body() { reason }: ReopenInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftReceipt> {
    return tagged(reply, await this.life.reopen(path, ifMatch, reason));
  }

  @Permit('record.read')
  @Get('versions')
  @Answer('Every version of a shift, the first one first', [ShiftVersion])
  versions(@Param() path: ShiftPath): Promise<ShiftVersion[]> {
    return this.life.versions(path);
  }

  @Permit('record.read')
  @Get('versions/:change')
  @Answer('A version of a shift as one document', ShiftDocument)
  async version(
    @Param() { change, ...path }: VersionPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftDocument> {
    return tagged(reply, await this.life.version(path, change)).document;
  }
}
