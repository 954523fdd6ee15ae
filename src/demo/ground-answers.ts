import type {
  BaselineEncountered,
  EncounteredClass,
} from '../features/ground/baselines/encountered.models.js';
import type { ClassDecision, ClassDecisionPage } from '../features/ground/classes/class-decision.models.js';
import type { GroundLog, GroundLogPage } from '../features/ground/ground-logs/ground-log.models.js';
import type { RockMassAt } from '../features/ground/ground-logs/rock-mass.models.js';
import type { ProgrammeDay } from '../features/driving/programme/programme.models.js';
import { DRIVE_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { BASELINE, PROGRAMME } from './contract.js';
import { LOGGED_AT } from './decided.js';
import { section, signed } from './section.js';
import { type Column, table } from './table.js';

const DAYS_SHOWN = 8;

/** The ground as both parties found it, compared with the contract. */
export class GroundAnswers {
  constructor(private readonly client: DemoClient) {}

  async all(): Promise<string[]> {
    return [await this.logs(), await this.decisions(), await this.baseline(), await this.programme()];
  }

  private async logs(): Promise<string> {
    const { client } = this;
    const path = `${DRIVE_PATH}/ground-logs`;
    const { items } = await client.get<GroundLogPage>(path);
    const at = [`${DRIVE_PATH}/rock-mass/at`, { chainage: LOGGED_AT }] as const;
    const { used } = await client.get<RockMassAt>(...at);
    const columns: Column<GroundLog>[] = [
      { title: 'log', value: ({ name }) => name },
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'maps', value: ({ mappedPlace }) => mappedPlace },
      { title: 'for', value: ({ mappedFor }) => mappedFor },
      { title: 'Q', value: ({ q }) => q?.q.toFixed(3), right: true },
      { title: 'RMR', value: ({ rmr }) => rmr?.rmr, right: true },
      { title: 'class', value: ({ rmr }) => rmr?.rmrClass },
      { title: 'GSI', value: ({ gsi }) => gsi, right: true },
      { title: 'governing', value: ({ governing }) => governing?.state },
    ];
    const counts = used.map(({ rating, log, basis }) => `${rating.toUpperCase()} of ${log} (${basis})`);
    return section(
      'WHAT THE TWO PARTIES MAPPED',
      client.url(path),
      table(items, columns),
      '',
      `  At ${LOGGED_AT} ${counts.join(' and ')} count: GET ${client.url(...at)}`,
    );
  }

  private async decisions(): Promise<string> {
    const path = `${DRIVE_PATH}/class-decisions`;
    const { items } = await this.client.get<ClassDecisionPage>(path);
    const columns: Column<ClassDecision>[] = [
      { title: 'decision', value: ({ number }) => number, right: true },
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'class', value: ({ groundClass }) => groundClass },
      { title: 'state', value: ({ state }) => state },
      { title: 'proposed by', value: ({ proposedBy, proposedFor }) => signed(proposedBy, proposedFor) },
      { title: 'disputed by', value: ({ disputedBy, disputedFor }) => signed(disputedBy, disputedFor) },
      { title: 'agreed by', value: ({ agreedBy, agreedFor }) => signed(agreedBy, agreedFor) },
      { title: 'dispute', value: ({ disputeReason }) => disputeReason },
    ];
    return section('WHICH CLASS IS AGREED', this.client.url(path), table(items, columns));
  }

  private async baseline(): Promise<string> {
    const path = `${DRIVE_PATH}/baselines/${BASELINE.code}/encountered`;
    const { classes } = await this.client.get<BaselineEncountered>(path);
    const columns: Column<EncounteredClass>[] = [
      { title: 'class', value: ({ groundClass }) => groundClass },
      { title: 'expected m', value: ({ baselineM }) => baselineM, right: true },
      { title: 'met m', value: ({ encounteredM }) => encounteredM, right: true },
      { title: 'difference m', value: ({ differenceM }) => differenceM, right: true },
      { title: 'of it agreed m', value: ({ agreedM }) => agreedM, right: true },
      { title: 'noted m', value: ({ notedM }) => notedM, right: true },
    ];
    return section('AGAINST THE BASELINE', this.client.url(path), table(classes, columns));
  }

  private async programme(): Promise<string> {
    const path = `${DRIVE_PATH}/programmes/${PROGRAMME.code}/progress`;
    const days = await this.client.get<ProgrammeDay[]>(path);
    const last = days.findLastIndex(({ actualChainage }) => actualChainage != null);
    const columns: Column<ProgrammeDay>[] = [
      { title: 'day from 06:00', value: (day) => day.productionDay },
      { title: 'planned', value: (day) => day.plannedChainage },
      { title: 'face', value: (day) => day.actualChainage },
      { title: 'ahead m', value: (day) => day.aheadM, right: true },
      { title: 'ahead d', value: (day) => day.aheadDays, right: true },
    ];
    const shown = days.slice(Math.max(0, last + 1 - DAYS_SHOWN), last + 1);
    return section('AGAINST THE PROGRAMME', this.client.url(path), table(shown, columns));
  }
}
