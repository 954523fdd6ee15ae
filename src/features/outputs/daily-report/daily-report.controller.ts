import { Controller, Get, Header, Param, Req, Res } from '@nestjs/common';
import { ApiProduces, ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { notAcceptable, preferred } from '../../../common/api/acceptable.js';
import { Answer, AnswerIn } from '../../../common/api/answer.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { Undrawn } from '../../../common/api/undrawn.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { PDF } from '../../../common/files/pdf-type.js';
import { answerPage, PAGE_TYPE } from '../../../common/html/page.js';
import { DailyReport, DailyReportPath } from './daily-report.models.js';
import { DailyReportService } from './daily-report.service.js';
import { dayPage } from './day-page.js';

const HTML = 'text/html';

/** Addresses of files end with their extension; the address without one chooses the format by Accept. */
@ApiTags('Daily reports')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/daily-reports')
export class DailyReportController {
  constructor(private readonly reports: DailyReportService) {}

  @Permit('record.read')
  @Get(':date.pdf')
  @FileAnswer('The report of a production day as PDF (A4), to be signed', PDF)
  async pdf(
    @Param() { drive, date }: DailyReportPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Undrawn<Buffer>> {
    return this.paper(await this.reports.get(drive, date), reply);
  }

  @Permit('record.read')
  @Get(':date.html')
  @Header('content-type', PAGE_TYPE)
  @ApiProduces(HTML)
  @Answer('The report of a production day as a page', String)
  async page(
    @Param() { drive, date }: DailyReportPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    return answerPage(reply, dayPage(await this.reports.get(drive, date)));
  }

  @Permit('record.read')
  @Get(':date')
  @AnswerIn(
    'The report of a production day: its shifts and the totals of the day, as JSON, or by Accept as PDF or as a page',
    DailyReport,
    { [PDF]: { type: 'string', format: 'binary' }, [HTML]: { type: 'string' } },
  )
  async get(
    @Param() { drive, date }: DailyReportPath,
    @Req() { headers: { accept } }: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<DailyReport | Undrawn<Buffer> | string> {
    const form = preferred(accept, [JSON_TYPE, PDF, HTML]);
    if (form === undefined) throw notAcceptable(`${JSON_TYPE}, ${PDF} or ${HTML}`);
    const report = await this.reports.get(drive, date);
    if (form === JSON_TYPE) return report;
    if (form === HTML) return answerPage(reply, dayPage(report));
    return this.paper(report, reply);
  }

  private paper(report: DailyReport, reply: FastifyReply): Undrawn<Buffer> {
    return new Undrawn([PDF, report], () => this.reports.paper([report])).saying(() =>
      setFileHeaders(reply, PDF, `daily-report-${report.drive}-${report.date}.pdf`, 'inline'),
    );
  }
}
