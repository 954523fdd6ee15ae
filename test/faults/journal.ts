import { isDeepStrictEqual } from 'node:util';
import { setTimeout as pause } from 'node:timers/promises';
import type pg from 'pg';
import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { aShift } from '../builders/shift.js';

const UNKNOWN = '/docs/problems#outcome_unknown';

/** Delay between a 503 answer and the next attempt. [ms] */
const RETRY_MS = 50;

/** A fault is temporary: a request not accepted within this time never will be. [ms] */
const LONGEST_MS = 300_000;

/** Every shift advances the face by this much, with a stroke of two borings. [mm] */
const ADVANCE_MM = 400;

/** What a client knows of a shift that it has sent. */
interface Entry {
  drive: string;
  date: string;
  shift: 'day' | 'night';
  /** The versions that were acknowledged, in order. */
  acknowledged: ShiftDocument[];
  /** The version abandoned when its outcome remained unknown. */
  doubtful?: ShiftDocument;
  etag?: string;
}

interface Answer {
  status: number;
  body: { type?: string; outcome?: string; etag?: string };
}

const dayOf = (n: number): string => new Date(Date.UTC(2027, 0, n)).toISOString().slice(0, 10);

const chainage = (mm: number): string => `1+${((1_200_000 + mm) / 1000 - 1000).toFixed(3)}`;

/** The n-th day shift of a drive: first with gaps, then complete; of varying length. */
const dayShift = (n: number, state: 'draft' | 'submitted'): ShiftDocument => {
  const [from, middle, to] = [0, 0.5, 1].map((part) => chainage((n - 1 + part) * ADVANCE_MM)) as [
    string,
    string,
    string,
  ];
  const shift = aShift(dayOf(n))
    .withStroke(n, from, middle, '06:00', '06:20', { thrustKn: 9000 + n })
    .withStroke(n, middle, to, '06:20', '06:40')
    .withActivity('BORE', '06:00', '06:40');
  for (let line = 0; line <= n % 4; line += 1) shift.withSupport('BOLT', from, to, String(line + 1));
  if (state === 'draft') return shift.build();
  return shift
    .withActivity('MAINT', '06:40', '18:00')
    .withSupport('MESH', from, to, '12.5')
    .withGround('A', from, to)
    .submitted()
    .build();
};

const nightShift = (n: number): ShiftDocument =>
  aShift(dayOf(n), 'night')
    .withActivity('MAINT', '18:00', '20:00')
    .withActivity('MAINT', '20:00', '23:00')
    .withActivity('MAINT', '23:00', '+1 01:00')
    .build();

/** Converts numbers and instants, and drops empty values. */
const plain = (value: unknown): unknown => {
  if (value === null) return undefined;
  if (typeof value !== 'string') return value;
  if (/^\d{4}-\d\d-\d\dT/.test(value)) return Date.parse(value);
  return /^\d+(\.\d+)?$/.test(value) ? Number(value) : value;
};

/** A document without what the service fills in. */
const content = ({ startsAt: _start, endsAt: _end, ...document }: ShiftDocument): unknown =>
  JSON.parse(JSON.stringify(document), (_key, value: unknown) => plain(value));

const total = (documents: ShiftDocument[], of: (document: ShiftDocument) => number): number =>
  documents.reduce((sum, document) => sum + of(document), 0);

const rowsOf = (documents: ShiftDocument[]) => ({
  borings: total(documents, ({ strokes }) => strokes.flatMap(({ borings }) => borings).length),
  activities: total(documents, ({ activities }) => activities.length),
  support: total(documents, ({ support }) => support.length),
  ground: total(documents, ({ ground }) => ground.length),
});

const ROWS = ['boring', 'activity', 'support_installed', 'ground_interval'];

/** Number of rows of each shift, current and in all versions, and its state. */
const countsIn = (schema: '' | 'history.'): string =>
  ROWS.map((table) => `(select count(*)::int from ${schema}${table} r where r.shift_id = s.id)`).join(', ');

const RECORD = `select d.code || ' ' || s.shift_date || ' ' || n.name as shift, s.state::text,
    (select count(*)::int from history.shift h where h.id = s.id) as versions,
    array[${countsIn('')}] as rows, array[${countsIn('history.')}] as history
  from shift s join drive d on d.id = s.drive_id join calendar_shift n on n.id = s.calendar_shift_id order by 1`;

const FIGURES = `select d.code as drive, (select (sum(advance_m) * 1000)::int from report.shift_advance a where a.drive_id = d.id) as advance_mm,
    (select json_object_agg(item_code, quantity) from report.support_total t where t.drive_id = d.id) as support
  from drive d where exists (select from shift s where s.drive_id = d.id) order by 1`;

/**
 * A client of several drives that keeps a journal of what was acknowledged: the oracle of what must be stored. It repeats
 * unacknowledged requests unchanged until they are acknowledged.
 */
export class Journal {
  /** Requests so far, answered or not. */
  sent = 0;
  /** 503 answers, and missing answers. */
  failed = 0;
  /** Requests whose answer never arrived. */
  unanswered = 0;
  /** Violations that no fault excuses. */
  readonly violations: string[] = [];
  private readonly entries: Entry[] = [];
  private n = 0;
  private waiting: { sent: number; resolve: () => void }[] = [];

  constructor(private readonly address: () => Promise<string>) {}

  get acknowledged(): number {
    return total(
      this.entries.flatMap(({ acknowledged }) => acknowledged),
      () => 1,
    );
  }

  /** Resolves with the n-th request from now. */
  request(n: number): Promise<void> {
    return new Promise((resolve) => this.waiting.push({ sent: this.sent + n, resolve }));
  }

  /** Each drive posts this many days, concurrently: a draft, the same completed, and a night that is abandoned when it fails. */
  async post(drives: string[], days: number): Promise<void> {
    const first = this.n + 1;
    this.n += days;
    await Promise.all(
      drives.map(async (drive) => {
        for (let n = first; n < first + days; n += 1) {
          const day: Entry = { drive, date: dayOf(n), shift: 'day', acknowledged: [] };
          const night: Entry = { ...day, shift: 'night', acknowledged: [] };
          this.entries.push(day, night);
          await this.put(day, dayShift(n, 'draft'), 'repeated');
          await this.put(day, dayShift(n, 'submitted'), 'repeated');
          await this.put(night, nightShift(n), 'once');
        }
      }),
    );
    for (const { resolve } of this.waiting.splice(0)) resolve();
  }

  private async put(entry: Entry, document: ShiftDocument, sending: 'repeated' | 'once'): Promise<void> {
    const { drive, date, shift, etag } = entry;
    const wanted = etag === undefined ? 'created' : 'replaced';
    const end = performance.now() + LONGEST_MS;
    let inDoubt = false;
    for (;;) {
      const { status, body } = await this.send(
        `/v1/projects/P1/drives/${drive}/shifts/${date}/${shift}`,
        document,
        etag,
      );
      if (status === 200 || status === 201) {
        // after the answer "nothing was written" the outcome must not be that it exists already
        if (body.outcome !== wanted && !(inDoubt && body.outcome === 'unchanged'))
          this.violations.push(`${drive} ${date} ${shift}: ${body.outcome}, not ${wanted}`);
        entry.acknowledged.push(document);
        entry.etag = body.etag;
        return;
      }
      if (status !== 0 && status !== 503)
        this.violations.push(`${drive} ${date} ${shift}: ${status} ${JSON.stringify(body)}`);
      this.failed += 1;
      inDoubt ||= status === 0 || body.type === UNKNOWN;
      if (sending === 'once' || this.violations.length > 0) {
        if (inDoubt) entry.doubtful = document;
        return;
      }
      if (performance.now() > end)
        throw new Error(`${drive} ${date} ${shift} was not taken: ${status} ${JSON.stringify(body)}`);
      await pause(RETRY_MS);
    }
  }

  /** @returns status 0 when no answer came */
  private async send(path: string, document: ShiftDocument, etag?: string): Promise<Answer> {
    const address = await this.address();
    this.sent += 1;
    this.waiting = this.waiting.filter(({ sent, resolve }) => sent > this.sent || void resolve());
    try {
      const answer = await fetch(`${address}${path}`, {
        method: 'PUT',
        headers: {
          'content-type': 'application/json',
          ...(etag === undefined ? {} : { 'if-match': etag }), // If-None-Match would refuse the repeat of a creation
        },
        body: JSON.stringify(document),
      });
      return { status: answer.status, body: (await answer.json()) as Answer['body'] };
    } catch {
      this.unanswered += 1;
      return { status: 0, body: {} };
    }
  }

  /** Differences between the record and what was acknowledged: documents by the service, rows, versions and figures by SQL. */
  async differences(sql: (text: string) => Promise<pg.QueryResultRow[]>): Promise<string[]> {
    const found: string[] = [...this.violations];
    const differ = (what: string, is: unknown, must: unknown): void => {
      if (!isDeepStrictEqual(is, must))
        found.push(`${what}: ${JSON.stringify(is)}, not ${JSON.stringify(must)}`);
    };
    const standing: { entry: Entry; versions: ShiftDocument[] }[] = [];
    for (const entry of this.entries) {
      const { drive, date, shift, acknowledged, doubtful, etag } = entry;
      const answer = await fetch(
        `${await this.address()}/v1/projects/P1/drives/${drive}/shifts/${date}/${shift}`,
        { headers: { 'accept-encoding': 'identity' } }, // a compressed answer has its own tag
      );
      const versions = doubtful && answer.status === 200 ? [...acknowledged, doubtful] : acknowledged;
      const last = versions.at(-1);
      const what = `${drive} ${date} ${shift}`;
      differ(what, answer.status, last ? 200 : 404);
      if (!last) continue;
      differ(what, content((await answer.json()) as ShiftDocument), content(last));
      if (!doubtful) differ(`${what} etag`, answer.headers.get('etag'), etag);
      standing.push({ entry, versions });
    }
    const byKey = standing.map(({ entry: { drive, date, shift }, versions }) => ({
      shift: `${drive} ${date} ${shift}`,
      state: versions.at(-1)?.state,
      versions: versions.length,
      rows: Object.values(rowsOf(versions.slice(-1))),
      history: Object.values(rowsOf(versions)),
    }));
    byKey.sort((a, b) => (a.shift < b.shift ? -1 : 1));
    const rows = await sql(RECORD);
    differ(
      'shifts',
      rows.map(({ shift }) => String(shift)),
      byKey.map(({ shift }) => shift),
    );
    rows.forEach((row, index) => differ('rows', { ...row }, byKey[index]));
    for (const { drive, advance_mm, support } of await sql(FIGURES)) {
      const documents = standing
        .filter(({ entry }) => entry.drive === drive)
        .map(({ versions }) => versions.at(-1) as ShiftDocument);
      const quantities: Record<string, number> = {};
      for (const { item, quantity } of documents.flatMap((document) => document.support))
        quantities[item] = (quantities[item] ?? 0) + Number(quantity);
      differ(
        `${drive} advance`,
        advance_mm,
        documents.filter(({ strokes }) => strokes.length > 0).length * ADVANCE_MM,
      );
      differ(`${drive} support`, { ...support }, quantities);
    }
    return found;
  }
}
