import { type Fault, faulty } from '../../common/api/problem.js';
import type { DriveFrame } from '../../common/drive-frame.js';
import { metresText } from '../../engineering/chainage.js';
import { groundLogValues } from '../../engineering/ground-log-values.js';
import type { GroundLogInput } from './ground-log.models.js';
import { type Note, readQ } from './read-q.js';
import { readRmr } from './read-rmr.js';

const placed = ({ from, to, faceChainage }: GroundLogInput, frame: DriveFrame, note: Note) => {
  const place = (pointer: string, chainage: string): number => {
    const mm = frame.drivenMm(chainage);
    const outside = frame.outside(mm);
    if (outside) note(pointer, chainage, outside);
    return mm;
  };
  const fromMm = place('/from', from);
  const toMm = place('/to', to);
  if (toMm <= fromMm) {
    const way = frame.direction === 1 ? 'rising' : 'falling';
    note('/to', to, `${to} does not lie ahead of ${from}: the drive runs with ${way} chainage`);
  }
  return {
    fromM: metresText(fromMm),
    toM: metresText(toMm),
    faceM: faceChainage == null ? null : metresText(place('/faceChainage', faceChainage)),
  };
};

const measured = (input: GroundLogInput) => ({
  mappedBy: input.mappedBy,
  mappedAt: input.mappedAt,
  lithology: input.lithology ?? null,
  ucsMpa: input.ucsMpa ?? null,
  pointLoadMpa: input.pointLoadMpa ?? null,
  rqdPercent: input.rqdPercent ?? null,
  jvPerM3: input.jvPerM3 ?? null,
  jointSpacingM: input.jointSpacingM ?? null,
  waterInflowLPerMinPer10m: input.waterInflowLPerMinPer10M ?? null,
  waterPressureRatio: input.waterPressureRatio ?? null,
  waterState: input.waterState ?? null,
  gsi: input.gsi ?? null,
  remark: input.remark ?? null,
});

/** The log as stored, with the values computed from it. @throws ProblemError invalid with every fault */
export const readGroundLog = (input: GroundLogInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const note: Note = (pointer, value, detail) => faults.push({ in: 'body', pointer, value, detail });
  const inputs = {
    ...placed(input, frame, note),
    ...measured(input),
    ...readQ(input, note),
    ...readRmr(input, note),
  };
  if (faults.length > 0) throw faulty('invalid', faults);
  return { ...inputs, ...groundLogValues(inputs) };
};
