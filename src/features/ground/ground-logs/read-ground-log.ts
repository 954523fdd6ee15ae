import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { drivenInterval, drivenPlace, type Note } from '../../../common/drive-interval.js';
import { metresText } from '../../../engineering/chainage.js';
import { groundLogValues } from '../../../engineering/ground-log-values.js';
import type { GroundLogInput } from './ground-log.models.js';
import { readQ } from './read-q.js';
import { readRmr } from './read-rmr.js';

const placed = (input: GroundLogInput, frame: DriveFrame, note: Note) => {
  const { fromMm, toMm } = drivenInterval(input, '', frame, note);
  const { faceChainage } = input;
  return {
    fromM: metresText(fromMm),
    toM: metresText(toMm),
    faceM: faceChainage == null ? null : metresText(drivenPlace(faceChainage, '/faceChainage', frame, note)),
  };
};

const measured = (input: GroundLogInput) => ({
  mappedBy: input.mappedBy,
  mappedAt: input.mappedAt,
  mappedPlace: input.mappedPlace ?? 'face',
  mappedFor: input.mappedFor ?? null,
  lithology: input.lithology ?? null,
  ucsMpa: input.ucsMpa ?? null,
  pointLoadMpa: input.pointLoadMpa ?? null,
  rqdPercent: input.rqdPercent ?? null,
  jvPerM3: input.jvPerM3 ?? null,
  jointSpacingM: input.jointSpacingM ?? null,
  jointFrequencyPerM: input.jointFrequencyPerM ?? null,
  driveAzimuthDeg: input.jointOrientation?.driveAzimuthDeg ?? null,
  jointDipDeg: input.jointOrientation?.dipDeg ?? null,
  jointDipDirectionDeg: input.jointOrientation?.dipDirectionDeg ?? null,
  waterInflowLPerMinPer10m: input.waterInflowLPerMinPer10M ?? null,
  waterPressureRatio: input.waterPressureRatio ?? null,
  waterState: input.waterState ?? null,
  gsi: input.gsi ?? null,
  remark: input.remark ?? null,
});

/** The log as stored, with its computed values. @throws ProblemError invalid with every fault */
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
