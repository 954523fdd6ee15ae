import { Body, Controller, Delete, Get, Headers, HttpCode, Param, Put, Res } from '@nestjs/common';
import { ApiHeader, ApiResponse, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { Outcome } from '../../../common/api/outcome.js';
import { DrivePath } from '../../../common/api/paths.js';
import { tagged } from '../../../common/api/tagged.js';
import { Permit } from '../../../common/auth/permit.js';
import { CSV } from '../../../common/files/csv.js';
import { XLSX } from '../../../common/files/xlsx.js';
import { Bill, BillInput, BillPath, BillReceipt, BillSummary } from './bill.models.js';
import { BillExportService } from './bill-export.service.js';
import { BillsService } from './bills.service.js';

@ApiTags('Bill')
@Controller('v1/projects/:project/drives/:drive/bills')
export class BillsController {
  constructor(
    private readonly bills: BillsService,
    private readonly exports: BillExportService,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer('The versions of a drive’s bill, the earliest first', [BillSummary])
  list(@Param() { drive }: DrivePath): Promise<BillSummary[]> {
    return this.bills.list(drive);
  }

  @Permit('record.read')
  @Get(':version')
  @Answer('A version of the bill with its items, and its entity tag', Bill)
  async get(
    @Param() { drive, version }: BillPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Bill> {
    return tagged(reply, await this.bills.get(drive, version));
  }

  @Permit('bill.write')
  @Put(':version')
  @ApiHeader({ name: 'If-Match', required: false, description: 'Entity tag of the bill to replace' })
  @ApiHeader({ name: 'If-None-Match', required: false, description: '*: create only' })
  @ApiResponse({ status: 201, type: BillReceipt, description: 'created' })
  @Answer('Stores a version of the bill whole, or refuses it; safe to repeat', BillReceipt)
  async put(
    @Param() { drive, version }: BillPath,
    @Body() input: BillInput,
    @Headers('if-match') ifMatch: string | undefined,
    @Headers('if-none-match') ifNoneMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<BillReceipt> {
    const createOnly = ifNoneMatch?.trim() === '*';
    const receipt = await this.bills.put(drive, version, input, { ifMatch, createOnly });
    void reply.status(receipt.outcome === Outcome.created ? 201 : 200).header('etag', receipt.bill.etag);
    return receipt;
  }

  @Permit('bill.write')
  @Delete(':version')
  @HttpCode(204)
  @ApiHeader({ name: 'If-Match', required: true, description: 'Entity tag of the bill to remove' })
  @Answer('Removes a version of the bill that nothing certified uses')
  async remove(
    @Param() { drive, version }: BillPath,
    @Headers('if-match') ifMatch: string | undefined,
  ): Promise<void> {
    await this.bills.remove(drive, version, ifMatch);
  }

  @Permit('record.read')
  @Get(':version/export.csv')
  @FileAnswer('A version of the bill as CSV (RFC 4180), fit to be imported again', CSV)
  async csv(
    @Param() { drive, version }: BillPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    const file = await this.exports.csv(drive, version);
    setFileHeaders(reply, `${CSV}; charset=utf-8; header=present`, `bill-${drive}-${version}.csv`);
    return file;
  }

  @Permit('record.read')
  @Get(':version/export.xlsx')
  @FileAnswer('A version of the bill as a workbook to be printed, fit to be imported again', XLSX)
  async xlsx(
    @Param() { drive, version }: BillPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Buffer> {
    const file = await this.exports.xlsx(drive, version);
    setFileHeaders(reply, XLSX, `bill-${drive}-${version}.xlsx`);
    return file;
  }
}
