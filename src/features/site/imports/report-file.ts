import { createWriteStream, type WriteStream } from 'node:fs';
import { once } from 'node:events';
import { finished } from 'node:stream/promises';
import { textCell } from '../../../common/files/csv.js';
import type { ImportRowReport } from './import.models.js';

const HEADINGS = 'line,key,outcome,field,value,detail';

const cell = (text: string | undefined): string => (text === undefined ? '' : textCell(text));

/** The outcome of a row: one line per fault or change, or a single line if there are none. */
const linesOf = ({ line, key, outcome, faults, changes, notes }: ImportRowReport): string[] => {
  const own = `${line},${cell(key)},"${outcome}"`;
  const said = [
    ...faults.map(({ field, value, detail }) => [field, value, detail]),
    ...changes.map(({ field, from = 'empty', to }) => [field, to, `was ${from}`]),
    ...notes.map((note) => [undefined, undefined, note]),
  ];
  return said.length === 0 ? [`${own},,,`] : said.map((each) => `${own},${each.map(cell).join(',')}`);
};

/** The report of an import, row by row, as a CSV file. */
export class ReportFile {
  private constructor(private readonly stream: WriteStream) {}

  /** Begins the file, replacing an existing one. @throws Error of the file system */
  static async open(path: string): Promise<ReportFile> {
    const stream = createWriteStream(path, { mode: 0o600 });
    await once(stream, 'open');
    stream.on('error', () => undefined); // reported by the next write
    const report = new ReportFile(stream);
    await report.put(`${HEADINGS}\r\n`);
    return report;
  }

  async write(rows: readonly ImportRowReport[]): Promise<void> {
    if (rows.length > 0) await this.put(`${rows.flatMap(linesOf).join('\r\n')}\r\n`);
  }

  async close(): Promise<void> {
    this.stream.end();
    await finished(this.stream);
  }

  /** Closes the file of a failed import. */
  abandon(): void {
    this.stream.destroy();
  }

  private async put(text: string): Promise<void> {
    if (this.stream.errored) throw this.stream.errored;
    if (!this.stream.write(text)) await once(this.stream, 'drain');
  }
}
