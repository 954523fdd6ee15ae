import { isDeepStrictEqual } from 'node:util';
import type { DemoClient } from './client.js';

export type Tell = (line: string) => void;

/** `kept`: the record differs from the demo's, because somebody has changed it since. */
export type Outcome = 'created' | 'replaced' | 'unchanged' | 'kept';

export class Tally {
  private readonly counts = new Map<Outcome, number>();

  add(outcome: Outcome): void {
    this.counts.set(outcome, (this.counts.get(outcome) ?? 0) + 1);
  }

  toString(): string {
    return [...this.counts].map(([outcome, count]) => `${count} ${outcome}`).join(', ');
  }
}

type Entry = Record<string, unknown>;

/** Puts the entries of a list; the effect of each PUT is derived from the list as it was before. */
export const putList = async (
  client: DemoClient,
  path: string,
  key: string,
  inputs: Record<string, object>,
  tally: Tally,
): Promise<void> => {
  const before = await client.get<Entry[]>(path);
  for (const [code, input] of Object.entries(inputs)) {
    const standing = before.find((entry) => entry[key] === code);
    const answer = await client.put<Entry>(`${path}/${code}`, input);
    tally.add(!standing ? 'created' : isDeepStrictEqual(standing, answer) ? 'unchanged' : 'replaced');
  }
};
