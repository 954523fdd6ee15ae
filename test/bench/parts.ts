import pg from 'pg';
import { compareShiftClients } from './clients.js';
import {
  type Comparison,
  compareAsOf,
  compareGrowth,
  compareProgress,
  compareScope,
  compareShiftPuts,
  compareStrokeLists,
  compareView,
} from './comparisons.js';
import { compareHandover } from './handover.js';
import { compareImports } from './imports.js';
import { compareMissing, compareMissingGrowth, compareMissingKept } from './missing-support.js';
import { compareMonthEnd } from './month-end.js';
import { comparePaper } from './paper.js';
import { compareProcessorTime } from './processor-time.js';
import { compareLake, compareListsOut } from './rows-out.js';
import { compareSamples, SAMPLES } from './samples.js';
import type { Setting } from './setting.js';
import { compareValuation } from './valuation.js';

/** A part of the bench that can be run separately. */
export interface Part {
  /** whether it needs the large drive */
  isLarge: boolean;
  /** whether it fills the database beyond the size on which other parts and the plans are measured */
  fills?: boolean;
  /** @param samples  number of machine samples in an upload, if fewer than usual */
  compare(setting: Setting, samples?: number): Promise<Comparison[]>;
}

/** Another session, as the owner or as the service's role. */
const withSession = async <T>(
  { databaseUrl }: Setting,
  options: string,
  work: (client: pg.Client) => Promise<T>,
): Promise<T> => {
  const client = new pg.Client({ connectionString: databaseUrl, options: `-c timezone=UTC ${options}` });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
};

const view = (path: string, requests: number, most: number): Part => ({
  isLarge: true,
  compare: (setting) =>
    withSession(setting, '', async (second) => [await compareView(setting, second, path, requests, most)]),
});

/** In order of execution: from `growth` on they write to the large drive. */
export const PARTS: Record<string, Part> = {
  'shift-put': { isLarge: true, compare: async (setting) => [await compareShiftPuts(setting)] },
  'shift-clients': {
    isLarge: true,
    compare: (setting) => withSession(setting, '', (session) => compareShiftClients(setting, session)),
  },
  strokes: { isLarge: true, compare: async (setting) => [await compareStrokeLists(setting)] },
  days: view('advance/days', 2, 1.3),
  shifts: view('advance/shifts', 2, 1.3),
  progress: { isLarge: true, compare: async (setting) => [await compareProgress(setting)] },
  pareto: view('ledger/pareto', 1, 1.2),
  statistics: view('strokes/statistics', 1, 1.2),
  scope: {
    isLarge: true,
    compare: (setting) =>
      withSession(setting, '-c role=drivebook_app -c search_path=report,public', (scoped) =>
        compareScope(setting, scoped),
      ),
  },
  'as-of': { isLarge: true, compare: compareAsOf },
  imports: { isLarge: false, compare: compareImports },
  'lists-out': { isLarge: false, compare: (setting, samples = SAMPLES) => compareListsOut(setting, samples) },
  lake: {
    isLarge: false,
    compare: async (setting, samples = SAMPLES) => [await compareLake(setting, samples)],
  },
  samples: {
    isLarge: false,
    compare: async (setting, samples = SAMPLES) => [await compareSamples(setting, samples)],
  },
  handover: { isLarge: true, compare: compareHandover },
  growth: { isLarge: true, compare: async (setting) => [await compareGrowth(setting)] },
  missing: {
    isLarge: true,
    compare: (setting) => withSession(setting, '', async (second) => [await compareMissing(setting, second)]),
  },
  /** these go with `missing`, which writes what is demanded */
  'missing-kept': {
    isLarge: true,
    compare: (setting) => withSession(setting, '', (second) => compareMissingKept(setting, second)),
  },
  'missing-growth': {
    isLarge: true,
    fills: true,
    compare: (setting) => withSession(setting, '', (second) => compareMissingGrowth(setting, second)),
  },
  'processor-time': {
    isLarge: true,
    fills: true,
    compare: (setting) => withSession(setting, '', (session) => compareProcessorTime(setting, session)),
  },
  paper: {
    isLarge: true,
    fills: true,
    compare: (setting) => withSession(setting, '', (session) => comparePaper(setting, session)),
  },
  'month-end': {
    isLarge: true,
    fills: true,
    compare: (setting) => withSession(setting, '', (session) => compareMonthEnd(setting, session)),
  },
  valuation: {
    isLarge: true,
    fills: true,
    compare: (setting) => withSession(setting, '', (second) => compareValuation(setting, second)),
  },
};
