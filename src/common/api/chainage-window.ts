import { ArgsType } from '@nestjs/graphql';
import { metresText, parseChainage } from '../../engineering/chainage.js';
import { driveFrame } from '../drive-frame.js';
import type { Statements } from '../database/database.js';
import { CursorField } from './cursor.js';
import { ChainageField, IntField } from './fields.js';
import { PlusKept } from './plus-kept.js';
import { type Fault, faulty } from './problem.js';

/** Part of a drive, or all of it. */
@ArgsType()
export class ChainageWindow {
  @PlusKept()
  @ChainageField({
    description: 'One end of the part; the start of the drive when not given',
    optional: true,
  })
  from?: string;

  @PlusKept()
  @ChainageField({ description: 'The other end; the end of the drive when not given', optional: true })
  to?: string;
}

/** A page of named objects listed along the drive. */
@ArgsType()
export class WindowPage extends ChainageWindow {
  @IntField({
    description: 'Maximum number, up to 1000; 100 when not given',
    min: 1,
    max: 1000,
    optional: true,
  })
  first?: number;

  @CursorField()
  after?: string;
}

/** The part as queried: a half-open interval, closed at the end of the drive. */
export interface Window {
  /** Its ends as chainages, in the direction of the drive; and the same in plain metres. */
  from: string;
  to: string;
  fromChainageM: string;
  toChainageM: string;
  /** Driven metres: lower bound, inclusive, and upper bound, exclusive. */
  lowM: string;
  highM: string;
}

/**
 * @param names  the caller's names of the two ends
 * @throws ProblemError invalid listing every fault of the two ends
 */
export const windowOf = async (
  statements: Statements,
  driveId: number,
  asked: ChainageWindow,
  names: readonly [string, string] = ['from', 'to'],
): Promise<Window> => {
  const frame = await driveFrame(statements, driveId);
  const faults: Fault[] = [];
  const place = (chainage: string | undefined, name: string, otherwise: number): number => {
    if (chainage == null) return otherwise;
    const mm = frame.drivenMm(chainage);
    const detail = frame.outside(mm);
    if (detail) faults.push({ in: 'query', pointer: `/${name}`, value: chainage, detail });
    return mm;
  };
  const ends = [place(asked.from, names[0], 0), place(asked.to, names[1], frame.lengthMm)];
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  if (low === high) {
    const detail = `${names.join(' and ')} are the same place`;
    faults.push({ in: 'query', pointer: `/${names[1]}`, value: asked.to ?? frame.chainage(high), detail });
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  const [from, to] = [frame.chainage(low), frame.chainage(high)];
  return {
    from,
    to,
    fromChainageM: metresText(parseChainage(from)),
    toChainageM: metresText(parseChainage(to)),
    lowM: metresText(low),
    highM: metresText(high === frame.lengthMm ? high + 1 : high),
  };
};

/** The part in driven metres; the drive is not queried where all of it is requested. @throws as windowOf */
export const partOf = async (
  statements: Statements,
  driveId: number,
  asked: ChainageWindow,
  names?: readonly [string, string],
): Promise<Pick<Window, 'lowM' | 'highM'>> =>
  asked.from == null && asked.to == null
    ? { lowM: '-infinity', highM: 'infinity' }
    : windowOf(statements, driveId, asked, names);
