import { Injectable } from '@nestjs/common';
import { type Window, windowOf } from '../../../common/api/chainage-window.js';
import { type Fault, faulty } from '../../../common/api/problem.js';
import type { Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { Undrawn } from '../../../common/api/undrawn.js';
import { type Job, jobIn } from '../../../common/work/job.js';
import { Places } from '../../../common/work/places.js';
import { Workers } from '../../../common/work/workers.js';
import {
  JudgementKeeper,
  type OverJudgement,
} from '../../support/missing-support/judgement-keeper.service.js';
import type { ChainageRange } from '../record/as-built.models.js';
import type { RowsName, StripInput } from './strip-data.js';
import { readStrip } from './strip-readings.js';
import { SCALES, type StripQuery, type StripSheetQuery, type StripTableQuery } from './strip.models.js';
import { SINGLE_DOWN_TO } from './tracks/support.js';
import { TRACK_NAMES, TRACKS } from './tracks/tracks.js';

const SVG = jobIn<StripInput & { page?: number }, string>(import.meta.url, 'draw-strip', 'stripSvg');
const PDF = jobIn<StripInput, Uint8Array>(import.meta.url, 'draw-strip', 'stripPdf');
const XLSX = jobIn<StripInput, Uint8Array>(import.meta.url, 'strip-sheet', 'stripXlsx');
const CSV = jobIn<StripInput & { table: string }, string | number>(
  import.meta.url,
  'strip-sheet',
  'stripCsv',
);

/** Length of the strip on a sheet. [mm] */
const STRIP_MM = 340;

/** Number of sheets aimed at when no scale is given. */
const USUAL_SHEETS = 6;

/** More sheets are refused: choose a smaller scale or a shorter part. */
const MOST_SHEETS = 300;

/** Most rows of a kind that are printed; the workbook has more. */
const MOST_PRINTED = 1000;
const MOST_IN_WORKBOOK = 200_000;

/** Smallest interval in which the quantities of support fit. [mm] */
const LEAST_INTERVAL_MM = 13;
const INTERVALS_M = [1, 2, 5, 10, 20, 50, 100];

/** Drawings at a time, so that uploads and charts find room in the threads, and how many may wait with their rows. */
const MOST_AT_ONCE = 1;
const MOST_WAITING = 8;

const TABLES: RowsName[] = ['days', 'shifts', 'grouting', 'files', 'sums', 'entries', 'registers'];

interface Asked {
  window: Window;
  lowM: number;
  highM: number;
  denominator: number;
  sheets: number;
  tracks: string[];
}

const bytesOf = (undrawn: Undrawn<Uint8Array>): Undrawn<Buffer> =>
  undrawn.as('bytes', (bytes) => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));

/** The as-built record of an interval on paper, drawn in the threads. */
export class Strips {
  private readonly places = new Places('strips', MOST_AT_ONCE, MOST_WAITING);

  constructor(
    private readonly drives: DriveReader,
    private readonly workers: Workers,
    private readonly over: OverJudgement,
    private readonly progress: (text: string) => void = () => undefined,
  ) {}

  /** One long sheet, or one numbered sheet. @throws ProblemError invalid naming field, value and rule */
  async svg(drive: string, { sheet, ...query }: StripSheetQuery): Promise<Undrawn<string>> {
    const input = await this.read(drive, query, 'strip', sheet);
    return this.undrawn('svg', SVG, { ...input, ...(sheet == null ? {} : { page: sheet }) });
  }

  async pdf(drive: string, query: StripQuery): Promise<Undrawn<Buffer>> {
    return bytesOf(this.undrawn('pdf', PDF, await this.read(drive, query, 'both')));
  }

  async xlsx(drive: string, range: ChainageRange): Promise<Undrawn<Buffer>> {
    return bytesOf(this.undrawn('xlsx', XLSX, await this.read(drive, range, 'tables')));
  }

  /** Nothing is drawn if the client has disconnected by then. */
  private undrawn<Input extends StripInput, Output>(
    form: string,
    job: Job<Input, Output>,
    input: Input,
  ): Undrawn<Output> {
    const { texts, ...others } = input;
    const from = [form, others, ...Object.entries(texts).flatMap(([name, parts]) => [name, ...parts])];
    const gone = scope().load?.gone;
    return new Undrawn(from, () => this.places.run(() => this.workers.run(job, input), gone));
  }

  /** One complete table. @throws ProblemError invalid for a table with more rows than can be answered */
  async csv(drive: string, { table, ...range }: StripTableQuery): Promise<Undrawn<string>> {
    const input = { ...(await this.read(drive, range, 'tables')), table };
    return this.undrawn('csv', CSV, input).as('text', (csv) => {
      if (typeof csv === 'string') return csv;
      throw faulty('invalid', [
        {
          ...{ in: 'query', pointer: '/to', value: range.to },
          detail: `table ${table} has ${csv} rows from ${range.from} to ${range.to}, and at most ${MOST_IN_WORKBOOK} are given out: ask for a part`,
        },
      ]);
    });
  }

  /** No connection is held while drawing. */
  private read(
    drive: string,
    query: StripQuery,
    parts: 'strip' | 'tables' | 'both',
    sheet?: number,
  ): Promise<StripInput> {
    return this.drives.reading(drive, async (id, statements) => {
      const asked = await askedOf(statements, id, query, parts !== 'tables', sheet);
      const drawn = TRACKS.filter(({ name }) => asked.tracks.includes(name)).flatMap(({ rows }) => rows);
      const rows = new Set<RowsName>([
        ...(parts === 'tables' ? [] : ['shifts' as const, ...drawn]),
        ...(parts === 'strip' ? [] : TABLES),
      ]);
      this.progress(`Reading ${asked.window.from} to ${asked.window.to} …`);
      const least = (LEAST_INTERVAL_MM * asked.denominator) / 1000;
      const read = await readStrip(statements, this.over, {
        ...{ id, drive, window: asked.window, rows },
        intervalM: INTERVALS_M.find((length) => length >= least) ?? 100,
        isByPiece: asked.denominator <= SINGLE_DOWN_TO,
        most: parts === 'tables' ? MOST_IN_WORKBOOK : MOST_PRINTED,
      });
      const { window, lowM, highM, denominator, tracks, sheets } = asked;
      this.progress(
        parts === 'tables'
          ? 'Writing the tables …'
          : `Drawing ${sheets} ${sheets === 1 ? 'sheet' : 'sheets'} at 1:${denominator} …`,
      );
      return { ...read, from: window.from, to: window.to, lowM, highM, denominator, tracks };
    });
  }
}

/** @throws ProblemError invalid with every fault of the query */
const askedOf = async (
  statements: Statements,
  id: number,
  { from, to, scale, tracks }: StripQuery,
  isDrawn: boolean,
  sheet: number | undefined,
): Promise<Asked> => {
  const names = tracks == null ? [...TRACK_NAMES] : tracks.split(',').map((name) => name.trim());
  const faults = tracksFaults(names, tracks);
  if (faults.length > 0) throw faulty('invalid', faults);
  const window = await windowOf(statements, id, { from, to });
  const ends = [Number(window.fromChainageM), Number(window.toChainageM)];
  const [lowM, highM] = [Math.min(...ends), Math.max(...ends)];
  const sheetsBy = (each: number): number => Math.ceil(((highM - lowM) * 1000) / (STRIP_MM * each) - 1e-9);
  const usual = SCALES.find((each) => sheetsBy(each) <= USUAL_SHEETS) ?? 5000;
  const denominator = scale == null ? usual : Number(scale.slice(2));
  const sheets = sheetsBy(denominator);
  const asked = { window, lowM, highM, denominator, sheets, tracks: names };
  if (!isDrawn) return asked;
  if (sheets > MOST_SHEETS)
    faults.push({
      ...{ in: 'query', pointer: '/scale', value: scale },
      detail: `${window.from} to ${window.to} takes ${sheets} sheets at scale ${scale}, and at most ${MOST_SHEETS} are drawn: ask for a smaller scale, or for a part`,
    });
  if (sheet != null && sheet > sheets)
    faults.push({
      ...{ in: 'query', pointer: '/sheet', value: sheet },
      detail: `sheet ${sheet} does not exist: the strip has ${sheets} ${sheets === 1 ? 'sheet' : 'sheets'} at scale 1:${denominator}`,
    });
  if (faults.length > 0) throw faulty('invalid', faults);
  return asked;
};

const tracksFaults = (names: string[], value: string | undefined): Fault[] => {
  const fault = (detail: string): Fault => ({ in: 'query', pointer: '/tracks', value, detail });
  if (names.includes(''))
    return [fault('a name is empty: write names of tracks with one comma between two, such as class,dates')];
  const unknown = names.filter((name) => !TRACK_NAMES.includes(name));
  const twice = names.filter((name, index) => names.indexOf(name) < index);
  return [
    ...unknown.map((name) => fault(`track "${name}" is unknown; there are ${TRACK_NAMES.join(', ')}`)),
    ...[...new Set(twice)].map((name) => fault(`track ${name} is named twice`)),
  ];
};

@Injectable()
export class StripService extends Strips {
  constructor(drives: DriveReader, workers: Workers, keeper: JudgementKeeper) {
    super(drives, workers, (driveId, judged, read) => keeper.over(driveId, judged, read));
  }
}
