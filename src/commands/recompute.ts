import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { WaterTestValuesService } from '../features/ahead/water/water-test-values.service.js';
import { DiscontinuityPolesService } from '../features/ground/discontinuities/discontinuity-poles.service.js';
import { GroundLogValuesService } from '../features/ground/ground-logs/ground-log-values.service.js';
import { OverbreakVolumesService } from '../features/ground/overbreak/overbreak-volumes.service.js';
import { StrokeValuesService } from '../features/driving/stroke-values/stroke-values.service.js';
import { type AddCommand, notes, ON_DATABASE, print, withJson } from './command.js';
import { commandDatabase } from './command-database.js';
import { allProjects, commandScope } from './command-scope.js';

const recompute = async ({ json }: { json?: boolean }): Promise<number> => {
  const ready = await commandDatabase(loadConfig());
  const database = new Database(ready.url, 1);
  const kinds = [
    { key: 'borings', of: 'borings', values: new StrokeValuesService(database), changed: 0 },
    { key: 'groundLogs', of: 'ground logs', values: new GroundLogValuesService(database), changed: 0 },
    {
      key: 'discontinuities',
      of: 'discontinuities',
      values: new DiscontinuityPolesService(database),
      changed: 0,
    },
    { key: 'overbreak', of: 'items of overbreak', values: new OverbreakVolumesService(database), changed: 0 },
    { key: 'waterTests', of: 'water tests', values: new WaterTestValuesService(database), changed: 0 },
  ];
  try {
    for (const project of await allProjects(database))
      await inScope(await commandScope(database, project), async () => {
        for (const kind of kinds) kind.changed += await kind.values.rebuildAll();
        await database.bulk((send) => send('delete from kept.judgement')); // recomputed when next needed
      });
    const parts = kinds.map(({ of, changed }) => `${changed} ${of}`);
    print(
      Object.fromEntries(kinds.map(({ key, changed }) => [key, changed])),
      json,
      () => `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)} changed.`,
    );
  } finally {
    await database.close();
    await ready.stop();
  }
  return 0;
};

const NOTES = `Examples:
  drivebook recompute
  drivebook recompute --json

${ON_DATABASE}`;

/** `drivebook recompute`: recomputes the values stored with all borings, ground logs, discontinuities, overbreak and water tests. */
export const addRecompute: AddCommand = (program, finish) => {
  const command = program
    .command('recompute')
    .description(
      'recompute the values stored with the record, of all projects: those of borings, ground logs, discontinuities, overbreak and water tests. Readings are not changed. Run it after an upgrade whose notes ask for it.',
    )
    .summary('recompute the values stored with the record')
    .action(async (options: { json?: boolean }) => finish(await recompute(options)));
  notes(withJson(command), NOTES);
};
