import { setTimeout as pause } from 'node:timers/promises';
import pg from 'pg';
import { inScope } from '../../src/common/database/scope.js';
import { Background } from '../../src/common/work/background.js';
import { JudgementKeeper } from '../../src/features/support/missing-support/judgement-keeper.service.js';
import { DraftSums } from '../../src/features/payment/valuations/draft-sums.service.js';
import { aProject } from '../builders/project.js';
import { startApp } from '../harness/app.js';
import { until } from '../harness/until.js';

const WAITING = `select count(*)::int as n from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock' and query like '%report_kept.keep_%'`;

it('background work on a drive is given up as the service ends, however long it would take', async () => {
  const app = await startApp({ JUDGEMENT_KEPT_FROM_MS: '0' });
  const holder = new pg.Client({ connectionString: app.url });
  await holder.connect();
  const waiting = async (): Promise<number> => (await app.sql<{ n: number }>(WAITING))[0]!.n;
  try {
    await aProject(app);
    const [drive] = await app.sql<{ id: number; project_id: number }>('select id, project_id from drive');
    await holder.query('begin; lock table kept.judgement, kept.draft in access exclusive mode');
    const scope = { projectId: drive!.project_id, project: 'P1', actor: 'anna', credential: 'test' };
    await inScope(
      scope,
      () => app.app.get(DraftSums).over(drive!.id, () => pause(600)), // long enough for its sums to be cached
    );
    await inScope(scope, () => app.app.get(JudgementKeeper).over(drive!.id, '', () => Promise.resolve()));
    await until(async () => (await waiting()) === 2);
    await app.app.close();
    expect(await waiting()).toBe(0); // and the lock is still held
  } finally {
    await holder.end();
    await app.close();
  }
});

it('begins nothing once the service ends, and passes on no resulting failure', async () => {
  const background = new Background();
  let begun = 0;
  const one = background.run(async () => {
    begun += 1;
    await new Promise((resolve) => background.signal.addEventListener('abort', resolve));
    throw new Error('cancelled');
  });
  await expect(background.run(() => Promise.reject(new Error('a failure')))).rejects.toThrow('a failure');
  await background.beforeApplicationShutdown();
  await background.run(() => Promise.resolve(void (begun += 1)));
  await one;
  expect(begun).toBe(1);
});
