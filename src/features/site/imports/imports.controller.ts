import { Body, Controller, Get, HttpCode, Param, Post, Res } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer } from '../../../common/api/answer.js';
import { FileAnswer, setFileHeaders } from '../../../common/api/file-answer.js';
import { Multipart } from '../../../common/api/multipart.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { faulty } from '../../../common/api/problem.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { CSV } from '../../../common/files/csv.js';
import { XLSX, xlsxOf } from '../../../common/files/xlsx.js';
import { DriveImportPath, ImportForm, ImportKind, ImportPath, ImportReport } from './import.models.js';
import { CatalogueCodes } from './catalogue-codes.js';
import { importKinds } from './import-kinds.js';
import { PermitByKind } from './kind-access.js';
import { ImportsService } from './imports.service.js';
import { isOfDrive } from './kinds.js';
import { Kinds } from './kinds.service.js';
import { csvTemplate, xlsxTemplate } from './templates.js';

@ApiTags('Imports')
@Controller('v1/projects/:project')
export class ImportsController {
  constructor(
    private readonly imports: ImportsService,
    private readonly kinds: Kinds,
    private readonly codes: CatalogueCodes,
  ) {}

  @Permit('record.read')
  @Get('import-kinds')
  @Answer('The kinds of record that a table can be imported as, with their columns', [ImportKind])
  listKinds(@Param() _path: ProjectPath): ImportKind[] {
    return importKinds(this.kinds);
  }

  @Permit('record.read')
  @Get('import-kinds/:kind/template.csv')
  @FileAnswer('A table of a kind to be filled in, as CSV: its headings, with units', CSV)
  csv(@Param() { kind }: ImportPath, @Res({ passthrough: true }) reply: FastifyReply): string {
    const template = csvTemplate(this.kinds.of(kind));
    setFileHeaders(reply, `${CSV}; charset=utf-8`, `${kind}.csv`);
    return template;
  }

  @Permit('record.read')
  @Get('import-kinds/:kind/template.xlsx')
  @FileAnswer(
    'The same as a workbook, with what each column is and the allowed codes, those of the catalogue of the project too, on a second sheet',
    XLSX,
  )
  async xlsx(
    @Param() { kind }: ImportPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Buffer> {
    const found = this.kinds.of(kind);
    const template = await xlsxOf(...xlsxTemplate(found, await this.codes.of(found)));
    setFileHeaders(reply, XLSX, `${kind}.xlsx`);
    return template;
  }

  /** REST only: GraphQL has no upload. */
  @PermitByKind((kind) => !isOfDrive(kind))
  @Heavy()
  @Post('imports/:kind')
  @HttpCode(200)
  @Multipart()
  @Answer(
    'Imports a table of records of the project, by the permission of their kind: each row as its PUT takes it. Safe to repeat',
    ImportReport,
  )
  import(@Param() { project, kind }: ImportPath, @Body() form: ImportForm): Promise<ImportReport> {
    return this.take(kind, { project }, form);
  }

  @PermitByKind(isOfDrive)
  @Heavy()
  @Post('drives/:drive/imports/:kind')
  @HttpCode(200)
  @Multipart()
  @Answer(
    'Imports a table of records of a drive, by the permission of their kind: each row as its PUT takes it. Safe to repeat',
    ImportReport,
  )
  importOfDrive(
    @Param() { project, drive, kind }: DriveImportPath,
    @Body() form: ImportForm,
  ): Promise<ImportReport> {
    return this.take(kind, { project, drive }, form);
  }

  private async take(
    name: string,
    place: { project: string; drive?: string },
    { file, ...options }: ImportForm,
  ): Promise<ImportReport> {
    const { ofDrive, rows } = this.kinds.of(name);
    if (ofDrive !== (place.drive !== undefined))
      throw faulty('invalid', [
        {
          in: 'path',
          pointer: '/kind',
          value: name,
          detail: `${rows} are of ${ofDrive ? 'a drive: …/drives/{drive}' : 'the project: …/projects/{project}'}/imports/${name}`,
        },
      ]);
    return this.imports.take(name, { ...place }, file, options);
  }
}
