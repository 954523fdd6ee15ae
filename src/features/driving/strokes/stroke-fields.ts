import { type Fault, faulty } from '../../../common/api/problem.js';

/** Readings of a stroke, each with the largest value accepted, in the unit of its name. */
export const READINGS = {
  thrustKn: 1_000_000,
  torqueKnm: 1_000_000,
  rotationRpm: 100,
  penetrationMmPerRev: 100,
  gripperPressureBar: 2000,
  muckMassT: 99_999,
} as const;

export type Reading = keyof typeof READINGS;

export type StrokeField = 'number' | 'from' | 'fromM' | 'to' | 'toM' | 'startedAt' | 'endedAt' | Reading;

const at = (value: string, detail: string): Fault => ({ in: 'body', pointer: '/file', value, detail });

/** Requires one of two columns for a place. */
const eitherOf = (fields: readonly string[], chainage: StrokeField, metres: StrokeField): Fault[] => {
  const [both, one] = [fields.includes(chainage), fields.includes(metres)];
  if (both && one) return [at(metres, `the table has both ${chainage} and ${metres}: keep one`)];
  return both || one ? [] : [at(metres, `the table has neither ${chainage} nor ${metres}: it needs one`)];
};

/** @throws ProblemError invalid for a table that lacks the columns of a stroke */
export const assertStrokeFields = (fields: readonly string[]): void => {
  const faults = [...eitherOf(fields, 'from', 'fromM'), ...eitherOf(fields, 'to', 'toM')];
  if (fields.includes('startedAt') !== fields.includes('endedAt')) {
    const [given, missing] = fields.includes('startedAt')
      ? ['startedAt', 'endedAt']
      : ['endedAt', 'startedAt'];
    faults.push(at(missing ?? '', `the table has ${given} without ${missing}: give both or neither`));
  }
  if (faults.length > 0) throw faulty('invalid', faults);
};
