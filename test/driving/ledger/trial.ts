import { aDrive } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { aLedgerProject, Sheets } from './sheet.js';

export type Row = Record<string, unknown>;

/** The trial project of the ledger, with a separate drive for each test. */
export class LedgerTrial {
  private count = 0;
  sheets: Sheets;

  private constructor(readonly app: TestApp) {}

  static async start(): Promise<LedgerTrial> {
    const app = await startApp();
    await aLedgerProject(app);
    return new LedgerTrial(app);
  }

  /** Code of the drive. */
  get drive(): string {
    return `L${this.count}`;
  }

  get url(): string {
    return `/v1/projects/P1/drives/${this.drive}`;
  }

  /** From 1+200 to 2+200 by default; its sheets continue from its start. */
  async nextDrive(
    more: { startChainage?: string; endChainage?: string; direction?: 1 | -1 } = {},
    face?: number,
  ): Promise<void> {
    this.count += 1;
    await aDrive(this.app, { ...more, drive: this.drive });
    this.sheets = new Sheets(this.app, this.url, face, more.direction);
  }

  /** An answer of the ledger of the test's drive. */
  async get<T = Row[]>(path: string): Promise<T> {
    const { status, body } = await this.app.http.get(`${this.url}/ledger/${path}`);
    expect([path, status]).toEqual([path, 200]);
    return body as T;
  }
}

export const columns = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));
