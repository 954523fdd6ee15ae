import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import { overbreakVolume } from '../../../engineering/overbreak.js';
import type { OverbreakInput } from './overbreak.models.js';

const isSame = (a: string, b: string): boolean => Number(a) === Number(b);

/**
 * The item as stored.
 * @param standingM3  the stored volume, which may be sent back with an item whose volume is computed [m³]
 * @throws ProblemError invalid with every fault of its place and size
 */
export const overbreakRow = (input: OverbreakInput, frame: DriveFrame, standingM3?: string) => {
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
  const computedM3 =
    input.areaM2 == null ? undefined : overbreakVolume(input.areaM2, metresText(Math.max(to - from, 0)));
  const isSurveyed = input.isVolumeSurveyed ?? input.volumeM3 != null;
  if (input.areaM2 == null && input.volumeM3 == null)
    fault('areaM2', 'an item needs areaM2, volumeM3 or both');
  else if (isSurveyed && input.volumeM3 == null)
    fault('volumeM3', 'a volume that was surveyed must be given: send volumeM3, or isVolumeSurveyed false');
  else if (!isSurveyed && computedM3 === undefined)
    fault('areaM2', 'the volume is area times length unless it was surveyed: send areaM2');
  else if (!isSurveyed && input.volumeM3 != null) {
    const known = [computedM3, standingM3].filter((each) => each !== undefined);
    if (!known.some((each) => isSame(each, input.volumeM3 ?? '')))
      fault(
        'volumeM3',
        `volumeM3 is area times length, ${computedM3}: omit it, or send isVolumeSurveyed true if it was surveyed`,
      );
  }
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
    volumeM3: isSurveyed ? String(input.volumeM3) : String(computedM3),
    volumeSurveyed: isSurveyed,
    maxDepthM: input.maxDepthM ?? null,
    arcFromDeg: input.arcFromDeg ?? null,
    arcToDeg: input.arcToDeg ?? null,
    remark: input.remark ?? null,
    surveyedBy: input.surveyedBy ?? null,
    surveyedAt: input.surveyedAt ?? null,
  };
};
