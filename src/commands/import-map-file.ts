import { readFileSync } from 'node:fs';

/** A column map as it is given on the command line: JSON, or the file that holds it. */
export const readMap = (given: string): string =>
  given.trimStart().startsWith('{') ? given : readFileSync(given, 'utf8');
