import type { SupportGap, SupportGapReport } from '../features/support/missing-support/gaps.models.js';
import type {
  RequiredSupport,
  RequiredSupportReport,
} from '../features/support/missing-support/missing-support.models.js';
import type {
  LineSource,
  LineSourcePage,
  Valuation,
  ValuationHead,
  ValuationLine,
} from '../features/payment/valuations/valuation.models.js';
import { DRIVE_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { CORRECTION, CORRECTED_REFERENCE } from './contract.js';
import { section, signed, wrapped } from './section.js';
import { type Column, table } from './table.js';

/** Missing support, and what is paid. */
export class AccountAnswers {
  constructor(private readonly client: DemoClient) {}

  async all(): Promise<string[]> {
    return [await this.gaps(), await this.valuations()];
  }

  private async gaps(): Promise<string> {
    const { client } = this;
    const [path, demand] = [`${DRIVE_PATH}/support-gaps`, `${DRIVE_PATH}/required-support`];
    const { items, caution } = await client.get<SupportGapReport>(path);
    const { items: demanded } = await client.get<RequiredSupportReport>(demand);
    const ofGaps: Column<SupportGap>[] = [
      { title: 'gap in', value: ({ item }) => item },
      { title: 'zone', value: ({ zone }) => zone },
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'along/around', value: ({ direction }) => direction },
      {
        title: 'on the ring',
        value: ({ gapFromDeg, gapToDeg }) =>
          gapFromDeg == null ? '' : `${gapFromDeg}° to ${gapToDeg ?? ''}°`,
      },
      { title: 'found m', value: ({ foundM }) => Number(foundM).toFixed(3), right: true },
      { title: 'allowed m', value: ({ allowedM }) => allowedM, right: true },
      { title: 'missing', value: ({ missing }) => missing, right: true },
      { title: 'due', value: ({ due }) => due, right: true },
      { title: 'by', value: ({ restsOn }) => restsOn },
    ];
    const ofDemand: Column<RequiredSupport>[] = [
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'demanded by', value: ({ restsOn }) => restsOn },
      { title: 'revision', value: ({ revision }) => revision },
      { title: 'valid from', value: ({ validFrom }) => validFrom },
    ];
    return section(
      'WHAT SUPPORT IS MISSING',
      client.url(path),
      table(items, ofGaps),
      '',
      `  What demands support: GET ${client.url(demand)}`,
      table(demanded, ofDemand),
      '',
      wrapped(caution),
    );
  }

  private async valuations(): Promise<string> {
    const { client } = this;
    const path = `${DRIVE_PATH}/valuations`;
    const heads = await client.get<ValuationHead[]>(path);
    const ofHeads: Column<ValuationHead>[] = [
      { title: 'valuation', value: ({ number }) => number, right: true },
      { title: 'until', value: ({ cutOff }) => cutOff },
      { title: 'state', value: ({ state }) => state },
      { title: 'before CHF', value: ({ previousAmount }) => previousAmount, right: true },
      { title: 'this period CHF', value: ({ amount }) => amount, right: true },
      { title: 'to date CHF', value: ({ toDateAmount }) => toDateAmount, right: true },
      { title: 'lines held', value: ({ heldCount }) => heldCount, right: true },
      { title: 'agreed by', value: ({ agreedBy, agreedFor }) => signed(agreedBy, agreedFor) },
      {
        title: 'certified by',
        value: ({ certifiedBy, certifiedFor }) => signed(certifiedBy, certifiedFor) || 'nobody yet',
      },
    ];
    const bodies = [];
    for (const { number } of heads) bodies.push(await this.lines(number));
    return section(
      'WHAT IS PAID (rates and references are invented)',
      client.url(path),
      table(heads, ofHeads),
      ...bodies,
      '',
      await this.correction(),
    );
  }

  private async lines(number: number): Promise<string> {
    const path = `${DRIVE_PATH}/valuations/${number}`;
    const { lines } = await this.client.get<Valuation>(path);
    const columns: Column<ValuationLine>[] = [
      { title: `valuation ${number}`, value: ({ reference }) => reference },
      { title: 'unit', value: ({ unit }) => unit },
      { title: 'before', value: ({ previousQuantity }) => previousQuantity, right: true },
      { title: 'this period', value: ({ quantity }) => quantity, right: true },
      { title: 'to date', value: ({ toDateQuantity }) => toDateQuantity, right: true },
      { title: 'held', value: ({ heldQuantity }) => heldQuantity, right: true },
      { title: 'CHF', value: ({ amount }) => amount, right: true },
      { title: 'class is', value: ({ basis }) => basis },
      {
        title: 'contested by',
        value: ({ contested }) =>
          (contested ?? [])
            .map(({ state, number: of, groundClass }) => `decision ${of} (${groundClass} ${state})`)
            .join(', '),
      },
    ];
    return `\n  GET ${this.client.url(path)}\n${table(lines, columns)}`;
  }

  private async correction(): Promise<string> {
    const path = `${DRIVE_PATH}/valuations/2/lines/${CORRECTED_REFERENCE}/sources`;
    const { items } = await this.client.get<LineSourcePage>(path);
    const columns: Column<LineSource>[] = [
      { title: 'record', value: ({ sourceKey }) => sourceKey },
      { title: 'class', value: ({ groundClass }) => groundClass },
      { title: 'effect', value: ({ effect }) => effect },
      { title: 'before', value: ({ previousQuantity }) => previousQuantity, right: true },
      { title: 'this period', value: ({ quantity }) => quantity, right: true },
      { title: 'to date', value: ({ toDateQuantity }) => toDateQuantity, right: true },
    ];
    return [
      `  Why ${CORRECTED_REFERENCE} changes (${CORRECTION.reason}): GET ${this.client.url(path)}`,
      table(items, columns),
    ].join('\n');
  }
}
