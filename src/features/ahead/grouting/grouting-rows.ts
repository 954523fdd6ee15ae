import { type Fault, faulty } from '../../../common/api/problem.js';
import { codeFault } from '../../../common/api/fields.js';
import { saysSomething } from '../../../common/api/rules.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { drivenInterval, drivenPlace, type Note } from '../../../common/drive-interval.js';
import { metresText } from '../../../engineering/chainage.js';
import { axialReach, radialSpread } from '../../../engineering/probe-hole.js';
import { GroutingState, GroutingStop } from '../../../generated/prisma/enums.js';
import type { GroutingHoleInput, GroutingRoundInput } from './grouting.models.js';

/** Existing records of the names that a round refers to. */
export interface NamedByRound {
  hasMeasurement: boolean;
  hasHole: boolean;
  /** probe holes that the round names as control holes */
  controlHoles: { name: string; isControl: boolean }[];
}

/** Faults of times that end before they begin, or lie outside the round. */
const timeFaults = (input: GroutingRoundInput, note: Note): void => {
  const [begun, ended] = [
    Date.parse(input.startedAt),
    input.endedAt == null ? null : Date.parse(input.endedAt),
  ];
  if (ended === null && input.state === GroutingState.complete)
    note('/endedAt', input.endedAt, 'a complete round needs endedAt');
  if (ended !== null && ended <= begun)
    note('/endedAt', input.endedAt, `endedAt ${input.endedAt} is not after startedAt ${input.startedAt}`);
  for (const [index, { startedAt, endedAt }] of input.holes.entries()) {
    const at = `/holes/${index}`;
    if (startedAt != null && endedAt != null && Date.parse(endedAt) <= Date.parse(startedAt))
      note(`${at}/endedAt`, endedAt, `endedAt ${endedAt} is not after startedAt ${startedAt} of the hole`);
    for (const [name, moment] of [
      ['startedAt', startedAt],
      ['endedAt', endedAt],
    ] as const) {
      if (moment == null) continue;
      if (Date.parse(moment) < begun)
        note(
          `${at}/${name}`,
          moment,
          `${name} ${moment} lies before the round, which began ${input.startedAt}`,
        );
      if (ended !== null && Date.parse(moment) > ended)
        note(`${at}/${name}`, moment, `${name} ${moment} lies after the round, which ended ${input.endedAt}`);
    }
  }
};

/** Faults of the names that the round refers to. */
const nameFaults = (input: GroutingRoundInput, drive: string, known: NamedByRound, note: Note): void => {
  const { triggerMeasurement, triggerHole, controlHoles = [] } = input;
  if (triggerMeasurement != null && !known.hasMeasurement)
    note(
      '/triggerMeasurement',
      triggerMeasurement,
      `measurement of inflow ${triggerMeasurement} not found in drive ${drive}`,
    );
  if (triggerHole != null && !known.hasHole)
    note('/triggerHole', triggerHole, `probe hole ${triggerHole} not found in drive ${drive}`);
  for (const [index, name] of controlHoles.entries()) {
    const at = `/controlHoles/${index}`;
    const found = known.controlHoles.find((hole) => hole.name === name);
    const form = codeFault(name);
    if (form !== undefined) note(at, name, `controlHoles ${form}`);
    else if (controlHoles.indexOf(name) < index) note(at, name, `control hole ${name} is named twice`);
    else if (!found) note(at, name, `probe hole ${name} not found in drive ${drive}`);
    else if (!found.isControl) note(at, name, `probe hole ${name} is not in state control_hole`);
  }
};

const holeRow = (hole: GroutingHoleInput, at: string, frame: DriveFrame, note: Note) => {
  if (hole.lookOutAzimuthDeg != null && hole.positionDeg == null)
    note(
      `${at}/lookOutAzimuthDeg`,
      hole.lookOutAzimuthDeg,
      'lookOutAzimuthDeg needs positionDeg: without its position the hole cannot be drawn',
    );
  if (hole.stopCriterion === GroutingStop.other && !saysSomething(hole.remark))
    note(`${at}/remark`, hole.remark, 'stopCriterion other needs a remark');
  const [lengthM, lookOutDeg] = [Number(hole.lengthM), Number(hole.lookOutDeg)];
  return {
    name: hole.name,
    collarM: metresText(drivenPlace(hole.collar, `${at}/collar`, frame, note)),
    positionDeg: hole.positionDeg ?? null,
    lookOutDeg: hole.lookOutDeg,
    lookOutAzimuthDeg: hole.lookOutAzimuthDeg ?? null,
    lengthM: hole.lengthM,
    diameterMm: hole.diameterMm ?? null,
    startedAt: hole.startedAt ?? null,
    endedAt: hole.endedAt ?? null,
    pressureEndBar: hole.pressureEndBar ?? null,
    stopCriterion: hole.stopCriterion ?? null,
    remark: hole.remark ?? null,
    axialReachM: axialReach(lengthM, lookOutDeg).toFixed(3),
    radialSpreadM: radialSpread(lengthM, lookOutDeg).toFixed(3),
  };
};

/** A round as stored, with its holes and mixes. @throws ProblemError invalid with every fault */
export const groutingRows = (
  input: GroutingRoundInput,
  drive: string,
  frame: DriveFrame,
  known: NamedByRound,
) => {
  const faults: Fault[] = [];
  const note: Note = (pointer, value, detail) => {
    faults.push({ in: 'body', pointer, value, detail });
  };
  const interval = drivenInterval(input, '', frame, note);
  const faceMm = input.face == null ? null : drivenPlace(input.face, '/face', frame, note);
  timeFaults(input, note);
  nameFaults(input, drive, known, note);
  const names = new Set<string>();
  const holes = input.holes.map((hole, index) => {
    if (names.has(hole.name)) note(`/holes/${index}/name`, hole.name, `hole ${hole.name} is entered twice`);
    names.add(hole.name);
    return holeRow(hole, `/holes/${index}`, frame, note);
  });
  if (faults.length > 0) throw faulty('invalid', faults);
  const head = {
    purpose: input.purpose,
    state: input.state,
    fromM: metresText(interval.fromMm),
    toM: metresText(interval.toMm),
    faceM: faceMm === null ? null : metresText(faceMm),
    startedAt: input.startedAt,
    endedAt: input.endedAt ?? null,
    triggerMeasurement: input.triggerMeasurement ?? null,
    triggerHole: input.triggerHole ?? null,
    controlHoles: input.controlHoles ?? [],
    remark: input.remark ?? null,
  };
  const mixes = input.holes.flatMap(({ name, mixes: taken }) =>
    taken.map(({ material, waterCementRatio, massKg, volumeL }, index) => ({
      hole: name,
      number: index + 1,
      material,
      waterCementRatio: waterCementRatio ?? null,
      massKg,
      volumeL: volumeL ?? null,
    })),
  );
  return { head, holes, mixes };
};
