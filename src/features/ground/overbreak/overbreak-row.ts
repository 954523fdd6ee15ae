import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import { overbreakVolume } from '../../../engineering/overbreak.js';
import type { OverbreakInput } from './overbreak.models.js';

/** The item as stored. @throws ProblemError invalid with every fault of its place and size */
export const overbreakRow = (input: OverbreakInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const fault = (field: keyof OverbreakInput, detail: string): void => {
    faults.push({ in: 'body', pointer: `/${field}`, value: input[field], detail });
  };
  const [from, to] = [frame.drivenMm(input.from), frame.drivenMm(input.to)];
  const outside = { from: frame.outside(from), to: frame.outside(to) };
  if (outside.from) fault('from', outside.from);
  if (outside.to) fault('to', outside.to);
  if (!outside.from && !outside.to && to <= from)
    fault(
      'to',
      `to ${input.to} does not lie after from ${input.from}: the drive runs with ${frame.direction === 1 ? 'rising' : 'falling'} chainage`,
    );
  if (input.areaM2 == null && input.volumeM3 == null)
    fault('areaM2', 'an item needs areaM2, volumeM3 or both');
  if ((input.arcFromDeg == null) !== (input.arcToDeg == null))
    fault(input.arcFromDeg == null ? 'arcFromDeg' : 'arcToDeg', 'an arc needs both arcFromDeg and arcToDeg');
  else if (input.arcFromDeg != null && Number(input.arcFromDeg) === Number(input.arcToDeg))
    fault('arcToDeg', 'an arc must not end where it begins: omit both for the whole ring');
  if (faults.length > 0) throw faulty('invalid', faults);
  return {
    fromM: metresText(from),
    toM: metresText(to),
    cause: input.cause,
    areaM2: input.areaM2 ?? null,
    volumeM3: input.volumeM3 ?? overbreakVolume(String(input.areaM2), metresText(to - from)),
    volumeSurveyed: input.volumeM3 != null,
    maxDepthM: input.maxDepthM ?? null,
    arcFromDeg: input.arcFromDeg ?? null,
    arcToDeg: input.arcToDeg ?? null,
    remark: input.remark ?? null,
    surveyedBy: input.surveyedBy ?? null,
    surveyedAt: input.surveyedAt ?? null,
  };
};
