import { Controller, Get, Param, Res } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { FileAnswer, setFileHeaders } from '../../../../common/api/file-answer.js';
import { Heavy } from '../../../../common/auth/heavy.js';
import { Permit } from '../../../../common/auth/permit.js';
import { CSV } from '../../../../common/files/csv.js';
import { PDF } from '../../../../common/files/pdf-type.js';
import { XLSX } from '../../../../common/files/xlsx.js';
import { ValuationPath } from '../valuation.models.js';
import { ValuationExportService } from './valuation-export.service.js';

/** REST only: GraphQL has no files. */
@ApiTags('Valuations')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/valuations')
export class ValuationExportController {
  constructor(private readonly exports: ValuationExportService) {}

  @Permit('record.read')
  @Get(':number/export.csv')
  @FileAnswer('A valuation as CSV (RFC 4180), one row per line', CSV)
  async csv(
    @Param() { drive, number }: ValuationPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    const file = await this.exports.csv(drive, number);
    setFileHeaders(reply, `${CSV}; charset=utf-8; header=present`, `valuation-${drive}-${number}.csv`);
    return file;
  }

  @Permit('record.read')
  @Get(':number/export.xlsx')
  @FileAnswer(
    'A valuation as a workbook with formulas, to be printed, and the records behind its lines',
    XLSX,
  )
  async xlsx(
    @Param() { drive, number }: ValuationPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Buffer> {
    const file = await this.exports.xlsx(drive, number);
    setFileHeaders(reply, XLSX, `valuation-${drive}-${number}.xlsx`);
    return file;
  }

  @Permit('record.read')
  @Get(':number/export.pdf')
  @FileAnswer('A valuation on paper (A4), to be signed', PDF)
  async pdf(
    @Param() { drive, number }: ValuationPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Buffer> {
    const file = await this.exports.pdf(drive, number);
    setFileHeaders(reply, PDF, `valuation-${drive}-${number}.pdf`);
    return file;
  }
}
