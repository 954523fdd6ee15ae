import type { BestAdvance } from '../features/driving/advance/period-advance.models.js';
import type { ParetoCode } from '../features/driving/ledger/ledger.models.js';
import type { Reliability, Utilisation } from '../features/driving/ledger/utilisation.models.js';
import type { StrokeProposal, StrokeProposalHead } from '../features/driving/samples/proposal.models.js';
import { DRIVE_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { sampledSpan } from './instruments.js';
import { scenario } from './scenario.js';
import { local, section, wrapped } from './section.js';
import { type Column, table } from './table.js';

const WINDOWS: Record<BestAdvance['kind'], string> = {
  shift: 'shift',
  production_day: 'day from 06:00',
  rolling_24_h: 'any 24 h',
  week: 'week',
  month: 'month',
};

const MOST_LOST = 3;

const percent = (share?: string): string => (share == null ? '' : `${(Number(share) * 100).toFixed(1)} %`);

/** Reports beyond single days: the best advance, where the time went, and what the machine's instruments show. */
export class Reports {
  constructor(private readonly client: DemoClient) {}

  async best(): Promise<string> {
    const path = `${DRIVE_PATH}/advance/best`;
    const columns: Column<BestAdvance>[] = [
      { title: 'best', value: ({ kind }) => WINDOWS[kind] },
      { title: 'advance m', value: ({ advanceM }) => advanceM, right: true },
      { title: 'which', value: ({ label, from }) => label ?? `from ${local(from)}` },
      { title: 'from', value: ({ fromChainage }) => fromChainage },
      { title: 'to', value: ({ toChainage }) => toChainage },
    ];
    const rows = await this.client.get<BestAdvance[]>(path);
    return section('THE BEST TO DATE', this.client.url(path), table(rows, columns));
  }

  async time(): Promise<string> {
    const [path, query] = [`${DRIVE_PATH}/ledger/utilisation`, { by: 'week' }];
    const weeks = await this.client.get<Utilisation[]>(path, query);
    const nonBoring = await this.client.get<ParetoCode[]>(`${DRIVE_PATH}/ledger/pareto`);
    const { availability, failureCount } = await this.client.get<Reliability>(
      `${DRIVE_PATH}/ledger/reliability`,
    );
    const ofWeeks: Column<Utilisation>[] = [
      { title: 'week', value: ({ period }) => period },
      { title: 'boring h', value: ({ boringHours }) => boringHours, right: true },
      { title: 'shift h', value: ({ shiftHours }) => shiftHours, right: true },
      { title: 'utilisation', value: ({ ofShiftTime }) => percent(ofShiftTime), right: true },
    ];
    const ofCodes: Column<ParetoCode>[] = [
      { title: 'non-boring', value: ({ code }) => code },
      { title: 'what', value: ({ description }) => description },
      { title: 'hours', value: ({ hours }) => hours, right: true },
      { title: 'share', value: ({ share }) => percent(share), right: true },
      { title: 'lost', value: ({ lost }) => (lost ? 'yes' : 'planned') },
      { title: 'cumulative', value: ({ cumulativeShare }) => percent(cumulativeShare), right: true },
    ];
    return section(
      'WHERE THE TIME WENT',
      this.client.url(path, query),
      table(weeks, ofWeeks),
      '',
      `  The largest ${MOST_LOST} of ${nonBoring.length}: GET ${this.client.url(`${DRIVE_PATH}/ledger/pareto`)}`,
      table(nonBoring.slice(0, MOST_LOST), ofCodes),
      '',
      `  mechanical availability ${percent(availability)}, ${failureCount} failure${failureCount === 1 ? '' : 's'}: GET ${this.client.url(`${DRIVE_PATH}/ledger/reliability`)}`,
    );
  }

  /** Has strokes proposed once; later calls find the same proposal. */
  async samples(): Promise<string> {
    const last = scenario().shifts.at(-1);
    const path = `${DRIVE_PATH}/stroke-proposals`;
    const standing = (await this.client.get<StrokeProposalHead[]>(path)).at(-1);
    const proposal = standing
      ? await this.client.get<StrokeProposal>(`${path}/${standing.number}`)
      : await this.client.post<StrokeProposal>(path, last && sampledSpan(last));
    type Boring = StrokeProposal['borings'][number];
    const columns: Column<Boring>[] = [
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'begins', value: ({ startedAt }) => local(startedAt) },
      { title: 'posted as stroke', value: ({ posted }) => posted?.number ?? 'none', right: true },
      { title: 'start offset min', value: ({ posted }) => posted?.startDifferenceMin, right: true },
      { title: 'ends min later', value: ({ posted }) => posted?.endDifferenceMin, right: true },
      { title: 'end offset mm', value: ({ posted }) => posted?.toDifferenceMm, right: true },
    ];
    return section(
      'WHAT THE MACHINE SAYS OF THE LAST SHIFT',
      this.client.url(`${path}/${proposal.number}`),
      `  ${proposal.strokeCount} strokes proposed from ${proposal.sampleCount} machine samples, beside what the shift posted`,
      table(proposal.borings, columns),
      '',
      wrapped(proposal.caution),
    );
  }
}
