import { Injectable } from '@nestjs/common';
import { readRows, type Statements } from '../../../../common/database/database.js';
import { DriveReader } from '../../../../common/database/drive-reader.service.js';
import { scope } from '../../../../common/database/scope.js';
import { xlsxOf } from '../../../../common/files/xlsx.js';
import { jobIn } from '../../../../common/work/job.js';
import { Papers } from '../../../../common/work/papers.js';
import { DraftSums } from '../draft-sums.service.js';
import { absent } from '../valuations.service.js';
import type { Account, Evidence, Heading } from './account.js';
import { accountCsv } from './account-csv.js';
import { accountSheet } from './account-sheet.js';
import { ACCOUNT, EVIDENCE, HEADING, VERSIONS } from './account-sql.js';
import { evidenceSheet, MOST_EVIDENCE } from './evidence-sheet.js';

const PAPER = jobIn<Account, Uint8Array>(import.meta.url, 'account-paper', 'accountPaper');

/** Exported valuations: each file has the figures of report.valuation_account, from one state of the record. */
@Injectable()
export class ValuationExportService {
  constructor(
    private readonly drives: DriveReader,
    private readonly sums: DraftSums,
    private readonly papers: Papers,
  ) {}

  async csv(drive: string, number: number): Promise<string> {
    return accountCsv(
      await this.drives.reading(drive, (driveId, statements) =>
        this.account(statements, drive, driveId, number),
      ),
    );
  }

  async pdf(drive: string, number: number): Promise<Buffer> {
    return this.papers.draw(
      PAPER,
      await this.drives.reading(drive, (driveId, statements) =>
        this.account(statements, drive, driveId, number),
      ),
    );
  }

  async xlsx(drive: string, number: number): Promise<Buffer> {
    const { account, evidence } = await this.drives.reading(drive, async (driveId, statements) => ({
      account: await this.account(statements, drive, driveId, number),
      evidence: await readRows<Evidence>(statements, EVIDENCE, driveId, number, MOST_EVIDENCE),
    }));
    return xlsxOf(accountSheet(account), evidenceSheet(account, evidence));
  }

  /** @throws ProblemError not_found naming the valuation */
  private async account(
    statements: Statements,
    drive: string,
    driveId: number,
    number: number,
  ): Promise<Account> {
    const [account] = await this.sums.over(driveId, () => readRows(statements, ACCOUNT, driveId, number));
    const [heading] = await readRows<Heading>(statements, HEADING, driveId, number);
    if (!account || !heading) throw absent(drive, number);
    const { lines, ...head } = account;
    return {
      project: scope().project,
      drive,
      head,
      heading,
      versions: await readRows(statements, VERSIONS, driveId, number),
      lines,
    };
  }
}
