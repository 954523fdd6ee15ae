import type { Config } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { DiscontinuityPolesService } from '../features/discontinuities/discontinuity-poles.service.js';
import { GroundLogValuesService } from '../features/ground-logs/ground-log-values.service.js';
import { OverbreakVolumesService } from '../features/overbreak/overbreak-volumes.service.js';
import { StrokeValuesService } from '../features/strokes/stroke-values.service.js';
import { readyDatabase } from '../service.js';
import { allProjects, commandScope } from './command-scope.js';

/** `drivebook recompute`: computes anew the values stored with all borings, ground logs, discontinuities and overbreak. */
export const recompute = async (config: Config): Promise<number> => {
  const ready = await readyDatabase(config);
  const database = new Database(ready.url, 1);
  const kinds = [
    { of: 'borings', values: new StrokeValuesService(database) },
    { of: 'ground logs', values: new GroundLogValuesService(database) },
    { of: 'discontinuities', values: new DiscontinuityPolesService(database) },
    { of: 'items of overbreak', values: new OverbreakVolumesService(database) },
  ];
  try {
    const changed = kinds.map(() => 0);
    for (const project of await allProjects(database))
      await inScope(await commandScope(database, project), async () => {
        for (const [index, { values }] of kinds.entries()) changed[index] += await values.rebuildAll();
      });
    const told = kinds.map(({ of }, index) => `${changed[index]} ${of}`);
    process.stdout.write(`${told.slice(0, -1).join(', ')} and ${told.at(-1)} changed.\n`);
  } finally {
    await database.close();
    await ready.stop();
  }
  return 0;
};
