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

/** A page of what is known by its name and listed along the drive. */
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

/** The part as it is searched: half open along the drive, but closed at the drive's very end. */
export interface Window {
  /** Its ends as chainage, in the direction of the drive; and the same in plain metres. */
  from: string;
  to: string;
  fromChainageM: string;
  toChainageM: string;
  /** Driven metres from which, and before which. */
  lowM: string;
  highM: string;
}

/**
 * @param names  what the two ends are called by the caller
 * @throws ProblemError invalid with every fault of its ends
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

/** The part in driven metres; without a look at the drive where all of it is asked for. @throws as windowOf */
export const partOf = async (
  statements: Statements,
  driveId: number,
  asked: ChainageWindow,
  names?: readonly [string, string],
): Promise<Pick<Window, 'lowM' | 'highM'>> =>
  asked.from == null && asked.to == null
    ? { lowM: '-infinity', highM: 'infinity' }
    : windowOf(statements, driveId, asked, names);
