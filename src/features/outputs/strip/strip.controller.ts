import { Controller, Get, Header, Param, Query, Res } from '@nestjs/common';
import { ApiProduces, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import type { Undrawn } from '../../../common/api/undrawn.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { CSV } from '../../../common/files/csv.js';
import { PDF } from '../../../common/files/pdf-type.js';
import { XLSX } from '../../../common/files/xlsx.js';
import { ChainageRange } from '../record/as-built.models.js';
import { StripQuery, StripSheetQuery, StripTableQuery } from './strip.models.js';
import { StripService } from './strip.service.js';

const SVG = 'image/svg+xml';

/** REST only: GraphQL has no pictures or files. */
@ApiTags('Record')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/as-built')
export class StripController {
  constructor(private readonly strips: StripService) {}

  @Permit('record.read')
  @Get('strip.svg')
  @Header('content-type', `${SVG}; charset=utf-8`)
  @ApiProduces(SVG)
  @Answer(
    'The as-built record of an interval as a strip to scale: one long sheet, or one sheet of the PDF',
    String,
  )
  svg(@Param() { drive }: DrivePath, @Query() query: StripSheetQuery): Promise<Undrawn<string>> {
    return this.strips.svg(drive, query);
  }

  @Permit('record.read')
  @Get('strip.pdf')
  @FileAnswer('The as-built record of an interval as PDF (A3): strip to scale and tables', PDF)
  async pdf(
    @Param() { drive }: DrivePath,
    @Query() query: StripQuery,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Undrawn<Buffer>> {
    const file = await this.strips.pdf(drive, query);
    return file.saying(() => setFileHeaders(reply, PDF, `as-built-${drive}.pdf`));
  }

  @Permit('record.read')
  @Get('tables.xlsx')
  @FileAnswer('The tables of the as-built record of an interval as a workbook, one sheet per table', XLSX)
  async xlsx(
    @Param() { drive }: DrivePath,
    @Query() range: ChainageRange,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Undrawn<Buffer>> {
    const file = await this.strips.xlsx(drive, range);
    return file.saying(() => setFileHeaders(reply, XLSX, `as-built-${drive}.xlsx`));
  }

  @Permit('record.read')
  @Get('tables.csv')
  @FileAnswer('One table of the as-built record of an interval as CSV (RFC 4180)', CSV)
  async csv(
    @Param() { drive }: DrivePath,
    @Query() query: StripTableQuery,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Undrawn<string>> {
    const file = await this.strips.csv(drive, query);
    return file.saying(() =>
      setFileHeaders(reply, `${CSV}; charset=utf-8; header=present`, `as-built-${drive}-${query.table}.csv`),
    );
  }
}
