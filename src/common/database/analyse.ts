import { Logger } from '@nestjs/common';
import type { Database } from './database.js';

const log = new Logger('Analyse');

/**
 * Analyses tables that have grown by more than a tenth in an import, so that queries are not planned with outdated statistics.
 * The import is already committed; a failure is logged, and autovacuum analyses the tables later.
 */
export const analyseGrown = async (database: Database): Promise<void> => {
  try {
    await database.bulk((send) => send('select analyse_grown()'));
  } catch (error) {
    log.warn(`tables were not analysed after an import: ${(error as Error).message}`);
  }
};
