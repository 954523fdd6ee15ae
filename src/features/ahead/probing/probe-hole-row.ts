import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { drivenPlace } from '../../../common/drive-interval.js';
import { metresText } from '../../../engineering/chainage.js';
import { axialReach, radialSpread } from '../../../engineering/probe-hole.js';
import type { ProbeHoleInput } from './probe-hole.model.js';

const millimetres = (text: string): number => Math.round(Number(text) * 1000);

/** Faults of a log: an interval without length, beyond the drilled length, or overlapping another. */
const logFaults = ({ log, lengthM }: ProbeHoleInput): Fault[] => {
  const drilled = millimetres(lengthM);
  const spans = log.map(({ fromM, toM }, index) => ({
    index,
    from: millimetres(fromM),
    to: millimetres(toM),
  }));
  const along = spans.toSorted((one, other) => one.from - other.from);
  return spans.flatMap(({ index, from, to }): Fault[] => {
    const fault = (field: string, value: number, detail: string): Fault => ({
      in: 'body',
      pointer: `/log/${index}/${field}`,
      value: metresText(value),
      detail,
    });
    if (to <= from)
      return [fault('toM', to, `toM ${metresText(to)} must be deeper than fromM ${metresText(from)}`)];
    const place = along.findIndex((span) => span.index === index);
    const before = along.slice(0, place).find((span) => span.to > from);
    return [
      ...(to > drilled
        ? [
            fault(
              'toM',
              to,
              `toM ${metresText(to)} lies beyond the drilled length of ${metresText(drilled)} m`,
            ),
          ]
        : []),
      ...(before
        ? [
            fault(
              'fromM',
              from,
              `${metresText(from)} to ${metresText(to)} m overlaps ${metresText(before.from)} to ${metresText(before.to)} m of the log`,
            ),
          ]
        : []),
    ];
  });
};

/** The hole as stored, without its log. @throws ProblemError invalid with every fault of its geometry and its log */
export const probeHoleRow = (input: ProbeHoleInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const place = (at: string, chainage: string): string =>
    metresText(
      drivenPlace(chainage, at, frame, (pointer, value, detail) => {
        faults.push({ in: 'body', pointer, value, detail });
      }),
    );
  const collarM = place('/collar', input.collar);
  const faceM = input.face == null ? null : place('/face', input.face);
  if (input.waterDepthM != null && Number(input.waterDepthM) > Number(input.lengthM)) {
    const detail = `waterDepthM ${input.waterDepthM} lies beyond the hole's length of ${input.lengthM} m`;
    faults.push({ in: 'body', pointer: '/waterDepthM', value: input.waterDepthM, detail });
  }
  if (input.lookOutAzimuthDeg != null && input.positionDeg == null) {
    const detail = 'lookOutAzimuthDeg needs positionDeg: without its position the hole cannot be drawn';
    faults.push({ in: 'body', pointer: '/lookOutAzimuthDeg', value: input.lookOutAzimuthDeg, detail });
  }
  faults.push(...logFaults(input));
  if (faults.length > 0) throw faulty('invalid', faults);
  const [lengthM, lookOutDeg] = [Number(input.lengthM), Number(input.lookOutDeg)];
  return {
    collarM,
    faceM,
    positionDeg: input.positionDeg ?? null,
    lookOutDeg: input.lookOutDeg,
    lookOutAzimuthDeg: input.lookOutAzimuthDeg ?? null,
    lengthM: input.lengthM,
    plannedLengthM: input.plannedLengthM ?? null,
    diameterMm: input.diameterMm ?? null,
    method: input.method ?? null,
    state: input.state ?? null,
    waterInflowLPerMin: input.waterInflowLPerMin ?? null,
    waterDepthM: input.waterDepthM ?? null,
    drilledAt: input.drilledAt ?? null,
    remark: input.remark ?? null,
    axialReachM: axialReach(lengthM, lookOutDeg).toFixed(3),
    radialSpreadM: radialSpread(lengthM, lookOutDeg).toFixed(3),
  };
};
