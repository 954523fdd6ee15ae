import { Controller, Get, Header, Param, Query, Res } from '@nestjs/common';
import { ApiProduces, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import type { Undrawn } from '../../../common/api/undrawn.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { DiagramInfo, DiagramPath, DiagramQuery } from './diagram.models.js';
import { DiagramsService } from './diagrams.service.js';

const SVG = 'image/svg+xml';
const PNG = 'image/png';

/** REST only: GraphQL has no pictures. */
@ApiTags('Diagrams')
@Controller('v1/projects/:project/drives/:drive/diagrams')
export class DiagramsController {
  constructor(private readonly diagrams: DiagramsService) {}

  @Permit('record.read')
  @Get()
  @Answer('The diagrams of a drive: what each shows, what it takes, and its addresses', [DiagramInfo])
  list(@Param() { drive }: DrivePath): Promise<DiagramInfo[]> {
    return this.diagrams.list(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':diagram.svg')
  @Header('content-type', `${SVG}; charset=utf-8`)
  @ApiProduces(SVG)
  @Answer('A diagram of the drive as SVG', String)
  svg(@Param() { drive, diagram }: DiagramPath, @Query() query: DiagramQuery): Promise<Undrawn<string>> {
    return this.diagrams.svg(drive, diagram, query);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':diagram.png')
  @FileAnswer('The same as a picture of twice as many pixels each way', PNG)
  async png(
    @Param() { drive, diagram }: DiagramPath,
    @Query() query: DiagramQuery,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Undrawn<Buffer>> {
    const picture = await this.diagrams.png(drive, diagram, query);
    return picture.saying(() => setFileHeaders(reply, PNG, `${diagram}-${drive}.png`, 'inline'));
  }
}
