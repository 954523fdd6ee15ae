import type { Fault } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import type { ProbeRequirement } from './probe-requirement.models.js';

interface Span {
  fromMm: number;
  toMm: number;
}

/** Ends in driven millimetres; null: applies wherever no other requirement does, or the ends are invalid. */
const spanOf = (
  { from, to }: ProbeRequirement,
  frame: DriveFrame,
  note: (field: string, value: unknown, detail: string) => void,
): Span | null => {
  if (from == null && to == null) return null;
  if (from == null || to == null) {
    const field = from == null ? 'from' : 'to';
    note(field, from ?? to, `${field} is missing: a length needs both from and to`);
    return null;
  }
  const [fromMm, toMm] = [frame.drivenMm(from), frame.drivenMm(to)];
  const atFrom = frame.outside(fromMm);
  const atTo = frame.outside(toMm) ?? frame.against(from, to);
  if (atFrom) note('from', from, atFrom);
  if (atTo) note('to', to, atTo);
  return atFrom || atTo ? null : { fromMm, toMm };
};

/** The requirements as stored; adds their faults to those already found. */
export const requirementRows = (
  requirements: ProbeRequirement[],
  frame: DriveFrame,
  faults: Fault[],
): object[] => {
  const before: { name: string; isDefault: boolean; span: Span | null }[] = [];
  return requirements.map((requirement, index) => {
    const note = (field: string, value: unknown, detail: string): void => {
      faults.push({ in: 'body', pointer: `/requirements/${index}/${field}`, value, detail });
    };
    const { name, holeCount, sectors, overlapM, leastLengthM } = requirement;
    const isDefault = requirement.from == null && requirement.to == null;
    const span = spanOf(requirement, frame, note);
    if (before.some((other) => other.name === name))
      note('name', name, `requirement ${name} is listed twice`);
    const otherDefault = before.find((other) => isDefault && other.isDefault);
    if (otherDefault)
      note(
        'from',
        null,
        `${otherDefault.name} has no length already: only one requirement may hold wherever no other does`,
      );
    const over = before.find(
      (other) => span && other.span && other.span.fromMm < span.toMm && other.span.toMm > span.fromMm,
    );
    if (over)
      note(
        'from',
        requirement.from,
        `${requirement.from} to ${requirement.to} overlaps requirement ${over.name}`,
      );
    if (sectors.length > holeCount)
      note('holeCount', holeCount, `holeCount must be at least ${sectors.length}, the number of sectors`);
    before.push({ name, isDefault, span });
    return {
      name,
      from_m: span && metresText(span.fromMm),
      to_m: span && metresText(span.toMm),
      hole_count: holeCount,
      sector_from_deg: sectors.map(({ fromDeg }) => fromDeg),
      sector_to_deg: sectors.map(({ toDeg }) => toDeg),
      overlap_m: overlapM,
      least_length_m: leastLengthM ?? null,
    };
  });
};
