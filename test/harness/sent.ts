import { jest } from '@jest/globals';
import pg from 'pg';

/** Statements that a connection sends by itself: when it is opened, or periodically, as that of the change feed. */
const OF_THE_CONNECTION = /\bpg_|^select 1$/;

/** Records the statements that this process sends to PostgreSQL from now on; ended by `jest.restoreAllMocks()`. */
export const hearStatements = (): string[] => {
  const heard: string[] = [];
  const { prototype } = pg.Client as { prototype: { query(...given: unknown[]): unknown } };
  const { query } = prototype;
  jest.spyOn(prototype, 'query').mockImplementation(function (this: unknown, ...given) {
    const [first] = given as [string | { text?: string }];
    const text = typeof first === 'string' ? first : (first.text ?? '');
    if (!OF_THE_CONNECTION.test(text)) heard.push(text);
    return query.apply(this, given);
  });
  return heard;
};
