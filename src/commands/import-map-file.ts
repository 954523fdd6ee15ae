import { readFileSync } from 'node:fs';
import { fileThatExists } from './command.js';

/** A column map from the command line: JSON, or the name of a file that contains it. */
export const readMap = (given: string): string =>
  given.trimStart().startsWith('{') ? given : readFileSync(fileThatExists(given), 'utf8');
