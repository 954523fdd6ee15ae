import { inZurich } from '../../harness/in-zurich.js';
import { TICK_MS } from './naive-clock.js';
import {
  chainage,
  type Heap,
  hours,
  type NaiveLedger,
  ratio,
  seconds,
  type Tick,
  TICKS_PER_HOUR,
  weekOf,
} from './naive-ledger.js';
import { type Activity, CODES, type Code } from './worlds.js';

/** Expected answers of the service from a naive ledger, except shares, which are checked by their rule. */

export type Row = Record<string, string | number | boolean | null>;

const NONE: Row = {
  seconds: '0.000',
  hours: '0.0000',
  activityCount: 0,
  meanHours: null,
  longestHours: null,
};

const figures = (heap?: Heap): Row =>
  heap
    ? {
        seconds: seconds(heap.ticks),
        hours: hours(heap.ticks),
        activityCount: heap.activities.size,
        meanHours: ratio(heap.ticks, TICKS_PER_HOUR * heap.activities.size, 4),
        longestHours: hours(Math.max(...heap.activities.values())),
      }
    : NONE;

export interface Cut {
  path: string;
  query?: object;
  /** names of the key's parts, as one key is reported */
  keys: string[];
  keyOf: (tick: Tick) => string | null;
  more?: (key: string) => Row;
}

export const NO_KEY = '-';

export const cutsOf = (ledger: NaiveLedger): Cut[] => [
  {
    path: 'codes',
    keys: ['code'],
    keyOf: ({ activity }) => activity.code,
    more: (code) => ({ description: `of ${code}`, countsAs: CODES[code as Code] }),
  },
  { path: 'time-classes', keys: ['countsAs'], keyOf: ({ activity }) => CODES[activity.code] },
  { path: 'parties', keys: ['responsibleParty'], keyOf: ({ activity }) => activity.party },
  {
    path: 'equipment',
    keys: ['equipment'],
    keyOf: ({ activity }) => activity.equipment,
    more: (code) => ({ description: code === NO_KEY ? null : `the ${code}` }),
  },
  {
    path: 'shifts',
    keys: ['date', 'shift', 'state'],
    keyOf: ({ activity: { shift } }) =>
      `${shift.date} ${shift.name} ${shift.submitted ? 'submitted' : 'draft'}`,
  },
  { path: 'weeks', keys: ['week', 'firstDay'], keyOf: weekOf },
  {
    path: 'intervals',
    query: { lengthM: ledger.world.lengthM },
    keys: ['from', 'to'],
    keyOf: (tick) => ledger.interval(tick),
  },
];

export const cutRows = (ledger: NaiveLedger, { keyOf, more }: Cut): Map<string, Row> =>
  new Map(
    [...ledger.heaps(keyOf)].map(([name, heap]) => {
      const key = name ?? NO_KEY;
      return [key, { ...more?.(key), ...figures(heap) }];
    }),
  );

export const groundClassRows = (ledger: NaiveLedger): Map<string, Row> => {
  const classOf = (tick: Tick): string | null => ledger.groundClass(tick);
  const [time, lost, bored] = [ledger.heaps(classOf), ledger.heaps(classOf, ledger.lost()), ledger.boredMm()];
  const nonBoring = ledger.heaps(classOf, ledger.nonBoring());
  return new Map(
    [...new Set([...time.keys(), ...bored.keys()])].map((name) => {
      const [ticks, mm] = [lost.get(name)?.ticks ?? 0, bored.get(name) ?? 0];
      const other = nonBoring.get(name)?.ticks ?? 0;
      const place = {
        nonBoringHours: hours(other),
        nonBoringHoursPer100M: ratio(other * 100_000, TICKS_PER_HOUR * mm, 4),
        lostHours: hours(ticks),
        boredM: ratio(mm, 1000, 3),
        lostHoursPer100M: ratio(ticks * 100_000, TICKS_PER_HOUR * mm, 4),
      };
      return [name ?? NO_KEY, { ...figures(time.get(name)), ...place }];
    }),
  );
};

export const paretoRows = (ledger: NaiveLedger): Row[] =>
  [...ledger.heaps(({ activity }) => activity.code, ledger.nonBoring())]
    .sort(([a, one], [b, other]) => other.ticks - one.ticks || (String(a) < String(b) ? -1 : 1))
    .map(([code, heap], index) => ({
      rank: index + 1,
      code,
      description: `of ${code}`,
      countsAs: CODES[code as Code],
      ...figures(heap),
      lost: CODES[code as Code] !== 'planned_stop',
    }));

export const utilisationRows = (ledger: NaiveLedger, by: 'drive' | 'week' | 'month'): object[] =>
  [...ledger.periods(by)].map(([name, { days, boring, shifts, outside, calendar }]) => ({
    period: name === '' ? null : name,
    firstDay: days.toSorted()[0],
    lastDay: days.toSorted().at(-1),
    boringHours: hours(boring),
    shiftHours: hours(shifts),
    workingHours: hours(shifts - outside),
    calendarHours: hours(calendar),
    ofShiftTime: ratio(boring, shifts, 6),
    ofWorkingTime: ratio(boring, shifts - outside, 6),
    ofCalendarTime: ratio(boring, calendar, 6),
    closedHours: '0.0000',
    plannedClosedHours: '0.0000',
    ofOpenTime: ratio(boring, calendar, 6),
  }));

const isBroken = ({ code }: Activity): boolean => CODES[code] === 'breakdown';

/** The equipment, otherwise the code that broke down without one. */
const itemOf = (activity: Activity): string | null =>
  activity.equipment ?? (isBroken(activity) ? `code ${activity.code}` : null);

/** Rows for the drive under an empty name, and for each item. */
export const reliabilityRows = (ledger: NaiveLedger): Map<string, Row> => {
  const ticks = (of: (activity: Activity) => boolean): number =>
    ledger.ticks.filter(({ activity }) => of(activity)).length;
  const failures = ledger.runs(
    (activity) => (isBroken(activity) ? itemOf(activity) : null),
    ({ code }) => ['planned_stop', 'outside_working_time'].includes(CODES[code]),
  );
  const boring = ticks(({ code }) => code === 'BORE');
  const operatingOfDrive = boring + ticks(({ code }) => code === 'REGRIP');
  const row = (item: string): Row => {
    // equipment is in use while boring, unless the project says otherwise
    const operating = item === '' || item.startsWith('code ') ? operatingOfDrive : boring;
    const isOf = (name: string | null): boolean => item === '' || name === item;
    const repair = ticks((activity) => isBroken(activity) && isOf(itemOf(activity)));
    const count = failures.filter(({ name }) => isOf(name)).length;
    return {
      operatingHours: hours(operating),
      repairHours: hours(repair),
      failureCount: count,
      mtbfHours: ratio(operating, TICKS_PER_HOUR * count, 4),
      mttrHours: ratio(repair, TICKS_PER_HOUR * count, 4),
      availability: ratio(operating, operating + repair, 6),
    };
  };
  const items = ledger.ticks.flatMap(({ activity }) => itemOf(activity) ?? []);
  return new Map(['', ...new Set(items)].map((item) => [item, row(item)]));
};

export const stopRows = (ledger: NaiveLedger, first: number): object[] =>
  ledger
    .runs(({ code }) => (code === 'BORE' || code === 'REGRIP' ? null : code))
    .map(({ name, activities }) => {
      const [begun, ended] = [activities[0]!, activities.at(-1)!];
      return { code: name as Code, begun, ended, ticks: (ended.end - begun.start) / TICK_MS, activities };
    })
    .sort((a, b) => b.ticks - a.ticks || a.begun.start - b.begun.start)
    .slice(0, first)
    .map(({ code, begun, ended, ticks, activities }) => ({
      code,
      description: `of ${code}`,
      countsAs: CODES[code],
      startedAt: inZurich(begun.start),
      endedAt: inZurich(ended.end),
      productionDay: ledger.dayOf(begun.start),
      seconds: seconds(ticks),
      hours: hours(ticks),
      activityCount: activities.length,
      faceChainage: chainage(ledger.world.startMm + ledger.world.direction * ledger.faceMm(begun.start)),
      groundClass: ledger.groundClass({ activity: begun }),
      lost: ['breakdown', 'ground', 'waiting'].includes(CODES[code]),
    }));
