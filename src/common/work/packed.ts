import { mapInTurns } from './turns.js';

/** A long list sent between threads: as JSON in parts, since the receiver parses it over several turns. */
export type Packed<T> = readonly string[] & { readonly of?: T };

const ROWS = 250;

export const packed = <T>(list: readonly T[]): Packed<T> => {
  const parts: string[] = [];
  for (let from = 0; from < list.length; from += ROWS)
    parts.push(JSON.stringify(list.slice(from, from + ROWS)));
  return parts;
};

export const unpacked = async <T>(parts: Packed<T>): Promise<T[]> =>
  (await mapInTurns(parts, (part) => JSON.parse(part) as T[])).flat();
