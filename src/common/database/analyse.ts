import { Logger } from '@nestjs/common';
import type { Database } from './database.js';

const log = new Logger('Analyse');

/**
 * After an import: tables that have grown by more than a tenth are analysed at once, so that nothing is planned for them as they
 * were. What was imported stands already; if this fails it is reported in the log, and autovacuum does it later.
 */
export const analyseGrown = async (database: Database): Promise<void> => {
  try {
    await database.bulk((send) => send('select analyse_grown()'));
  } catch (error) {
    log.warn(`tables were not analysed after an import: ${(error as Error).message}`);
  }
};
