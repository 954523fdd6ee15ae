import type { Config } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { StrokeValuesService } from '../features/strokes/stroke-values.service.js';
import { readyDatabase } from '../service.js';

/** `drivebook recompute`: computes the values stored with all borings anew, from readings and machine. */
export const recompute = async (config: Config): Promise<number> => {
  const ready = await readyDatabase(config);
  const database = new Database(ready.url, 1);
  try {
    const changed = await new StrokeValuesService(database).rebuildAll();
    process.stdout.write(`${changed} borings changed.\n`);
  } finally {
    await database.$disconnect();
    await ready.stop();
  }
  return 0;
};
