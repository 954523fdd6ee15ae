import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { createApp } from '../../../src/app.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { JobRunner } from '../../../src/common/jobs/job-runner.service.js';
import { aProject } from '../../builders/project.js';
import { workbookOf } from '../../files/archives.js';
import { PEPPER } from '../../harness/app.js';
import { type Office, startOffice } from '../../harness/office.js';
import { oneAtATime } from '../../harness/schema-once.js';
import { inLong, itOnce } from '../../harness/sizes.js';
import { until } from '../../harness/until.js';

// Large tables, imported by jobs. gina records the ground, vera is a viewer.

const P = '/v1/projects/P1';
let folder: string;
let office: Office;

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'import-jobs-'));
  office = await startOffice('olga', ['vera', 'gina', 'hugo', 'emil', 'quinn'], {
    JOBS: 'off',
    ATTACHMENTS_DIR: folder,
  });
  await aProject(office.as('olga'));
  await office.employ('P1', {
    ...{ vera: 'viewer', gina: 'geologist', hugo: 'geologist' },
    ...{ emil: 'engineer', quinn: 'qs' },
  });
});

afterAll(async () => {
  for (const app of running) await app.close();
  await office.close();
  rmSync(folder, { recursive: true });
});

/** Instances that run jobs. */
const running = new Set<NestFastifyApplication>();

/** Another instance that runs jobs. */
const instance = async (): Promise<NestFastifyApplication> => {
  const config = {
    ...loadConfig({
      API_KEY_PEPPER: PEPPER,
      WEBHOOK_SENDING: 'off',
      ALERT_INTERVAL_S: '0',
      ATTACHMENTS_DIR: folder,
    }),
    databaseUrl: office.url,
    logLevel: 'silent' as const,
  };
  const app = await oneAtATime(async () => {
    const made = await createApp(config);
    await made.init();
    return made;
  });
  running.add(app);
  return app;
};

const close = async (app: NestFastifyApplication): Promise<void> => {
  running.delete(app);
  await app.close();
};

/** Polls for a condition while instances look for jobs more often than usual. */
const whileLooking = (isSo: () => Promise<boolean>): Promise<void> =>
  until(() => {
    for (const app of running) app.get(JobRunner).look();
    return isSo();
  });

let shared: NestFastifyApplication | undefined;

/** Runs the work while one instance runs jobs. */
const during = async (work: () => Promise<void>): Promise<void> => {
  shared ??= await instance();
  await work();
};

type Fields = Record<string, string>;

const send = (file: string | Buffer, fields: Fields = {}, who = 'gina', kind = 'overbreak') =>
  office
    .as(who)
    .http.post(`${P}/import-jobs/${kind}`)
    .field({ drive: 'N', ...fields })
    .attach('file', Buffer.from(file), 'table');

interface Shown {
  number: number;
  state: string;
  percent: number;
  step: string | null;
  problem: string | null;
  outcome: Record<string, unknown> | null;
  resultUrl: string | null;
}

const shown = async (number: number, who = 'gina'): Promise<Shown> =>
  (await office.as(who).http.get(`${P}/jobs/${number}`)).body as Shown;

const ended = async (number: number): Promise<Shown> => {
  await whileLooking(async () => ['done', 'failed'].includes((await shown(number)).state));
  return shown(number);
};

const asked = async (...of: Parameters<typeof send>): Promise<number> => {
  const { status, body } = await send(...of);
  expect([status, body.detail]).toEqual([202, undefined]);
  return body.number as number;
};

const counts = ({ outcome }: Shown) =>
  ['created', 'unchanged', 'updated', 'rejected', 'isWritten'].map((name) => outcome?.[name]);

const HEAD = 'name;from;to;cause;volumeM3';
/** Half a metre each, one after the other. */
const at = (n: number) => `1+${(200 + (n % 1000) / 2).toFixed(3).replace('.', ',')}`;
const row = (n: number, more = 'geological;1,25') =>
  `B${String(n).padStart(4, '0')};${at(n)};${at(n + 1)};${more}`;
const table = (from: number, to: number, ...others: string[]) =>
  [HEAD, ...Array.from({ length: to - from + 1 }, (_, n) => row(from + n)), ...others].join('\n');

const rowsIn = async (of = 'overbreak_item') =>
  (await office.sql<{ n: number }>(`select count(*)::int as n from ${of}`))[0]?.n;

const uploads = () => {
  const results = path.join(folder, 'results');
  return existsSync(results)
    ? readdirSync(results)
        .flatMap((project) => readdirSync(path.join(results, project)))
        .filter((name) => name.startsWith('upload-'))
    : [];
};

const reportOf = async ({ resultUrl }: Shown): Promise<string[]> => {
  const { text, headers } = await office.as('gina').http.get(resultUrl ?? '');
  expect(headers['content-type']).toBe('text/csv; charset=utf-8');
  return text.trimEnd().split('\r\n');
};

itOnce(
  'a table is imported in batches; its report names every row; sent again, all is unchanged',
  async () => {
    const text = table(1, 130, row(900, 'rain;1,25'), row(7, 'geological;9,5'), 'B0901;1+200');
    const number = await asked(text, { mode: 'valid-rows' });
    expect(await shown(number, 'hugo')).toMatchObject({ status: 404 }); // a job of somebody else
    expect((await shown(number)).state).toBe('waiting');
    expect((await shown(number)) as object).toMatchObject({
      input: { kind: 'overbreak', drive: 'N', options: { mode: 'valid-rows' } },
    });
    expect(JSON.stringify(await shown(number))).not.toContain('upload-');
    const second = await send(text, { mode: 'valid-rows' });
    expect([second.status, second.body.detail]).toEqual([
      409,
      `job ${number} of kind import is waiting or running: wait until it has ended, or cancel it`,
    ]);
    expect(uploads()).toHaveLength(1);
    await during(async () => {
      const job = await ended(number);
      expect([job.state, job.percent, job.step, job.problem, counts(job)]).toEqual([
        'done',
        100,
        'row 133 of 133',
        null,
        [130, 0, 0, 3, true],
      ]);
      expect(job.outcome).toMatchObject({
        kind: 'overbreak',
        mode: 'valid-rows',
        dryRun: false,
        rowCount: 133,
        read: { decimal: 'comma', delimiter: 'semicolon', chainages: 'km+m' },
      });
      const report = await reportOf(job);
      expect(report).toHaveLength(134);
      expect(report.slice(0, 2)).toEqual(['line,key,outcome,field,value,detail', '2,"B0001","created",,,']);
      expect(report.slice(-3)).toEqual([
        expect.stringMatching(/^132,"B0900","rejected","cause","rain","cause must be one of/),
        '133,"B0007","rejected","name","B0007","B0007 is listed twice, on lines 8 and 133"',
        '134,"B0901","rejected","",,"the row has 2 columns; there are 5 headings"',
      ]);
      expect([await rowsIn(), uploads()]).toEqual([130, []]);
      const changes = await office.sql('select count(*)::int as n from history.change');
      const again = await ended(await asked(table(1, 130), { mode: 'valid-rows' }));
      expect(counts(again)).toEqual([0, 130, 0, 0, false]);
      expect(await office.sql('select count(*)::int as n from history.change')).toEqual(changes);
    });
  },
);

inLong(() => {
  it('in one transaction it is imported or refused as a whole; a dry run writes nothing', async () => {
    await office.sql('delete from overbreak_item');
    await during(async () => {
      const refused = await ended(await asked(table(1, 110, row(900, 'rain;1,25'))));
      expect([refused.state, counts(refused)]).toEqual(['done', [110, 0, 0, 1, false]]);
      expect((await reportOf(refused)).at(-1)).toMatch(/"rejected","cause","rain"/);
      const tried = await ended(await asked(table(1, 110), { dryRun: 'true' }));
      expect([counts(tried), await rowsIn()]).toEqual([[110, 0, 0, 0, false], 0]);
      const taken = await ended(await asked(table(1, 110)));
      expect([counts(taken), await rowsIn()]).toEqual([[110, 0, 0, 0, true], 110]);
      const workbook = workbookOf([
        ['name', 'cause'],
        ['B0001', 'operational'],
        ['B0002', 'geological'],
      ]);
      const changed = await ended(await asked(workbook, { mode: 'valid-rows' }));
      expect(counts(changed)).toEqual([0, 1, 1, 0, true]);
      expect(await reportOf(changed)).toContain('2,"B0001","updated","cause","operational","was geological"');
    });
  });
});

itOnce('obvious errors are refused at once, and nothing is kept', async () => {
  const answers = [
    await send(table(1, 2), {}, 'vera'),
    await send('name;wrong\nA;1\n'),
    await send(''),
    await send(`${HEAD}\n\n`),
    await send(table(1, 2), { mode: 'some' }),
    await send(table(1, 2), { nonsense: '1' }),
    await send(table(1, 2), { drive: 'X' }),
    await send(table(1, 2), { drive: '' }),
    await send(table(1, 2), { map: '{' }),
    await send(table(1, 2), { encoding: 'utf-16le' }),
    await send(Buffer.from([0xd0, 0xcf, 0x11, 0xe0])),
    await send(table(1, 2), {}, 'gina', 'metres'),
  ];
  expect(answers.map(({ status, body }) => [status, body.errors?.[0]?.pointer])).toEqual([
    [403, undefined],
    [422, '/file'],
    [422, '/file'],
    [422, '/file'],
    [422, '/mode'],
    [422, '/nonsense'],
    [404, undefined],
    [422, '/drive'],
    [422, '/map'],
    [422, '/file'],
    [422, '/file'],
    [404, undefined],
  ]);
  const none = await office.as('gina').http.post(`${P}/import-jobs/overbreak`).field('drive', 'N');
  expect([none.status, none.body.errors[0].pointer]).toEqual([422, '/file']);
  expect(uploads()).toEqual([]);
  expect(await office.sql(`select id from job where state in ('waiting', 'running')`)).toEqual([]);
});

itOnce('a table that turns out to be unreadable fails the job, with the reason', async () => {
  await during(async () => {
    const broken = await ended(await asked(`${table(1, 3000)}\n"B0004;1+200`));
    expect([broken.state, broken.problem]).toEqual([
      'failed',
      expect.stringMatching(/^line 3002: a quotation mark is opened and never closed/),
    ]);
    const ambiguous = await ended(
      await asked('name;from;to;cause;volumeM3\nA;1+200;1+201;geological;1.234\n'),
    );
    expect(ambiguous.problem).toMatch(/"1.234" \(volumeM3, line 2\) may have decimals or thousands/);
    expect(uploads()).toEqual([]);
  });
});

itOnce(
  'strokes and items of bills are imported by jobs too; started again, written rows are unchanged',
  async () => {
    const strokes = `number,from,to\n${Array.from({ length: 1200 }, (_, n) => `${n + 1},${(1200 + n / 2).toFixed(3)},${(1200.49 + n / 2).toFixed(3)}`).join('\n')}\n`;
    const bill =
      'version,validFrom,reference,description,unit,rate,decimals\nJ,2031-01-01,T.1,x,m3,1.10,0\n,,,a title,,,\n';
    const done = async (kind: string, file: string, fields: Fields): Promise<Shown> => {
      const who = kind === 'strokes' ? 'emil' : 'quinn';
      const number = await asked(file, fields, who, kind);
      await whileLooking(async () => ['done', 'failed'].includes((await shown(number, who)).state));
      return shown(number, who);
    };
    await during(async () => {
      const fields = { mode: 'valid-rows', closeGaps: '0.010', chainages: 'm' };
      const first = await done('strokes', strokes, fields);
      expect([first.problem, counts(first)]).toEqual([null, [1200, 0, 0, 0, true]]);
      const { text } = await office.as('emil').http.get(first.resultUrl ?? '');
      expect(text.split('\r\n')[1]).toBe(
        '2,"1","created",,,"to 1+200.490 moved to 1+200.500: 0.010 m gap closed"',
      );
      expect(counts(await done('strokes', strokes, fields))).toEqual([0, 1200, 0, 0, false]);
      const items = await done('bill-items', bill, {});
      expect([items.problem, counts(items), items.outcome?.['passedOver']]).toEqual([
        null,
        [1, 0, 0, 0, true],
        1,
      ]);
      expect(counts(await done('bill-items', bill, {}))).toEqual([0, 1, 0, 0, false]);
    });
  },
);

itOnce('a job cannot be read as of a moment', async () => {
  const { status, body } = await office.as('gina').http.get(`${P}/jobs?asOf=2027-01-01T00:00:00Z`);
  expect([status, body.errors]).toEqual([
    422,
    [
      expect.objectContaining({
        in: 'query',
        pointer: '/asOf',
        detail: expect.stringMatching(/does not apply to jobs/),
      }),
    ],
  ]);
});

inLong(() => {
  it('a job continues after the service ended or was killed, and stops when it is cancelled', async () => {
    // a kind written record by record, in batches of a hundred
    const kind = 'investigations';
    const seen = Array.from(
      { length: 210 },
      (_, n) => `V${n};geological_mapping;${at(n)};${at(n + 1)};1+200;2024-03-01T06:00:00Z;gina`,
    );
    const text = ['name;method;from;to;face;madeAt;madeBy', ...seen].join('\n');
    const taken = () => rowsIn('investigation');
    const asksFor = () => asked(text, { mode: 'valid-rows' }, 'gina', kind);
    await office.sql('delete from investigation');
    const begun = () => whileLooking(async () => ((await taken()) ?? 0) > 0);
    if (shared) await close(shared);
    shared = undefined;
    const number = await asksFor();
    const first = await instance();
    await begun();
    await close(first); // it returns the job
    const before = (await taken()) ?? 0;
    expect((await shown(number)).state).toBe('waiting');
    expect([before < 210, uploads().length]).toEqual([true, 1]);
    await during(async () => {
      const job = await ended(number);
      expect(counts(job)).toEqual([210 - before, before, 0, 0, true]);
      expect([await taken(), uploads(), (await reportOf(job)).length]).toEqual([210, [], 211]);
    });
    // an instance that loses its lease writes on for a batch at most; the next one does all of it again
    await office.sql('delete from investigation');
    const killed = await asksFor();
    await during(async () => {
      await begun();
      await office.sql(
        `update job set attempts = attempts + 1, lease_until = clock_timestamp() - interval '1 second' where id = ${killed}`,
      );
      const job = await ended(killed);
      expect([await taken(), Number(job.outcome?.['created']) + Number(job.outcome?.['unchanged'])]).toEqual([
        210, 210,
      ]);
    });
    await office.sql('delete from investigation');
    const cancelled = await asksFor();
    await during(async () => {
      await begun();
      expect((await office.as('hugo').http.delete(`${P}/jobs/${cancelled}`)).status).toBe(404);
      expect((await office.as('gina').http.delete(`${P}/jobs/${cancelled}`)).status).toBe(204);
      await until(() => uploads().length === 0);
    });
    expect(((await taken()) ?? 0) % 100).toBe(0); // whole batches stay
    expect((await taken()) ?? 0).toBeLessThan(210);
  });
});
