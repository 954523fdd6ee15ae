import { type Fault, ProblemError } from '../common/api/problem.js';
import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { commandDatabase } from './command-database.js';
import { commandScope } from './command-scope.js';

/** A refusal with all of its faults. */
export const problemInWords = ({ message, faults }: ProblemError): string => {
  const more = faults.filter(({ detail }) => detail !== message); // a single fault is the message itself
  return [message, ...more.map(({ pointer, detail }: Fault) => `  ${pointer}: ${detail}`)].join('\n') + '\n';
};

/**
 * Runs a command's work on the record of a project, in the configured database.
 * @param reported  text to print for a refusal; by default all of its faults
 * @returns the exit status, 1 when the record refuses
 */
export const onRecord = async (
  project: string,
  work: (database: Database) => Promise<number>,
  reported: (problem: ProblemError) => string | undefined = () => undefined,
): Promise<number> => {
  const ready = await commandDatabase(loadConfig());
  const database = new Database(ready.url, 1);
  try {
    return await inScope(await commandScope(database, project), () => work(database));
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    process.stderr.write(reported(error) ?? problemInWords(error));
    return 1;
  } finally {
    await database.close();
    await ready.stop();
  }
};
