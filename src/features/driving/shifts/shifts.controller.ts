import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Put, Res } from '@nestjs/common';
import { ApiHeader, ApiResponse, ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import type { FastifyReply } from 'fastify';
import { Outcome } from '../../../common/api/outcome.js';
import { tagged } from '../../../common/api/tagged.js';
import { Permit } from '../../../common/auth/permit.js';
import { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import { ShiftPath } from './shift-path.js';
import { ShiftsService } from './shifts.service.js';

@ApiTags('Shifts')
@Controller('v1/projects/:project/drives/:drive/shifts/:date/:shift')
export class ShiftsController {
  constructor(private readonly shifts: ShiftsService) {}

  @Permit('record.read')
  @Get()
  @Answer('A shift as one document, with its entity tag', ShiftDocument)
  async get(
    @Param() path: ShiftPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftDocument> {
    return tagged(reply, await this.shifts.get(path)).document;
  }

  @Permit('shift.write')
  @Put()
  @ApiHeader({ name: 'If-Match', required: false, description: 'Entity tag of the version to replace' })
  @ApiHeader({ name: 'If-None-Match', required: false, description: '*: create only' })
  @ApiResponse({ status: 201, type: ShiftReceipt, description: 'created' })
  @Answer('Stores a shift whole, or refuses it; safe to repeat', ShiftReceipt)
  async put(
    @Param() path: ShiftPath,
    @Body() document: ShiftDocument,
    @Headers('if-match') ifMatch: string | undefined,
    @Headers('if-none-match') ifNoneMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<ShiftReceipt> {
    const receipt = await this.shifts.put(path, document, {
      ifMatch,
      createOnly: ifNoneMatch?.trim() === '*',
    });
    void reply.status(receipt.outcome === Outcome.created ? 201 : 200);
    return tagged(reply, receipt);
  }

  @Permit('shift.write')
  @Delete()
  @HttpCode(204)
  @ApiHeader({ name: 'If-Match', required: true, description: 'Entity tag of the version to remove' })
  @Answer('Removes a draft shift that was posted in error')
  async remove(@Param() path: ShiftPath, @Headers('if-match') ifMatch: string | undefined): Promise<void> {
    await this.shifts.remove(path, ifMatch);
  }
}
