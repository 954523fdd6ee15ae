import { type Fault, ProblemError } from '../common/api/problem.js';
import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { commandDatabase } from './command-database.js';
import { commandScope } from './command-scope.js';

/** A refusal with every fault of it. */
export const problemInWords = ({ message, faults }: ProblemError): string => {
  const more = faults.filter(({ detail }) => detail !== message); // one fault alone is the message
  return [message, ...more.map(({ pointer, detail }: Fault) => `  ${pointer}: ${detail}`)].join('\n') + '\n';
};

/**
 * Does a command's work on the record of a project, in the database of the settings.
 * @param reported  what is written of a refusal; every fault of it when nothing else is said
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
