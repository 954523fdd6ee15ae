import { Turns } from '../../../common/work/turns.js';
import { metresText } from '../../../engineering/chainage.js';
import type { BoringValues, MeasuredBoring } from '../../../engineering/stroke-values.js';
import type { ResponsibleParty, ShiftState, SupportUnit } from '../../../generated/prisma/enums.js';
import type { DoubtCode } from '../doubts/doubt.models.js';
import { valuesOf } from '../stroke-values/values-of.js';
import { Faults } from './faults.js';
import { readActivities } from './read-activities.js';
import { readConfirmations } from './read-confirmations.js';
import { readBorings } from './read-borings.js';
import { readGround } from './read-ground.js';
import { readSupport } from './read-support.js';
import type { ShiftContext, ShiftKey } from './shift-context.js';
import type { ShiftDocument } from './shift-document.model.js';

/** Rows keep the pointer of their entry in the document, for errors found later. Positions are driven millimetres. */
interface Row {
  pointer: string;
}

export interface BoringRow extends Row, MeasuredBoring {
  strokeNumber: number;
  fromMm: number;
  toMm: number;
  startedAt: number;
  endedAt: number;
  gripperPressureBar: number | null;
  muckMassT: string | null;
}

export interface ActivityRow extends Row {
  startedAt: number;
  endedAt: number;
  code: string;
  responsibleParty: ResponsibleParty | null;
  remark: string | null;
  /** absent when none is named, so that digests of shifts stored before equipment existed stay valid */
  equipment?: string;
}

export interface SupportRow extends Row {
  item: string;
  unit: SupportUnit;
  zone: string;
  fromMm: number;
  toMm: number;
  quantity: string;
  arcFromDeg: string | null;
  arcToDeg: string | null;
  thicknessMm: string | null;
  installedAt: number | null;
  remark: string | null;
  /** absent when none is given, so that digests of shifts stored before this volume existed stay valid */
  deliveredVolumeM3?: string;
  /** positions of the pieces, likewise absent when not given */
  positionsMm?: number[];
  arcPositionsDeg?: string[];
}

export interface GroundRow extends Row {
  fromMm: number;
  toMm: number;
  groundClass: string;
  lithology: string | null;
  remark: string | null;
}

export interface ConfirmationRow extends Row {
  doubt: DoubtCode;
  /** absent: anywhere in the shift */
  fromMm?: number;
  reason: string;
}

/** A shift document in canonical form: in driven millimetres and milliseconds, ordered, with nothing left out. */
export interface ShiftRows {
  state: ShiftState;
  startsAt: number;
  endsAt: number;
  crewLead: string | null;
  remark: string | null;
  borings: BoringRow[];
  activities: ActivityRow[];
  support: SupportRow[];
  ground: GroundRow[];
  /** absent when none is given, so that digests of shifts stored before doubts existed stay valid */
  confirm?: ConfirmationRow[];
}

/** The part of the canonical form that is needed to read the lists. */
export interface ShiftFrame {
  startsAt: number;
  endsAt: number;
  context: ShiftContext;
  faults: Faults;
  /** Reading yields in turns: a shift may have thousands of borings. */
  turns: Turns;
}

const LONGEST_SHIFT_H = 25;

const readHours = (
  document: ShiftDocument,
  key: ShiftKey,
  context: ShiftContext,
  faults: Faults,
): [number, number] => {
  const startsAt = Date.parse(document.startsAt ?? context.calendarStartsAt);
  const endsAt = Date.parse(document.endsAt ?? context.calendarEndsAt);
  const hours = (endsAt - startsAt) / 3_600_000;
  if (hours <= 0 || hours > LONGEST_SHIFT_H)
    faults.add(
      '/endsAt',
      document.endsAt,
      `the shift would last ${hours} h: it must last more than 0 and at most ${LONGEST_SHIFT_H} h`,
    );
  if (context.localStartDate !== null && context.localStartDate !== key.date)
    faults.add(
      '/startsAt',
      document.startsAt,
      `the shift of ${key.date} starts on ${context.localStartDate}: a shift belongs to the date on which it starts`,
    );
  return [startsAt, endsAt];
};

/**
 * Reads a document in its context.
 * @throws ProblemError invalid with every fault within the document itself
 */
export const shiftRows = async (
  document: ShiftDocument,
  key: ShiftKey,
  context: ShiftContext,
): Promise<ShiftRows> => {
  const faults = new Faults();
  // Putting back a countersigned shift as it was read repeats what was submitted.
  const isGivenBack = document.state === 'countersigned' && context.standing?.state === 'countersigned';
  if (document.state === 'countersigned' && !isGivenBack)
    faults.add(
      '/state',
      document.state,
      'a shift is posted as draft or submitted: countersigning is a separate request',
    );
  const [startsAt, endsAt] = readHours(document, key, context, faults);
  const frame: ShiftFrame = { startsAt, endsAt, context, faults, turns: new Turns() };
  const rows = {
    state: isGivenBack ? 'submitted' : document.state,
    startsAt,
    endsAt,
    crewLead: document.crewLead ?? null,
    remark: document.remark ?? null,
    borings: await readBorings(document.strokes, frame),
    activities: readActivities(document.activities, frame),
    support: await readSupport(document.support, frame),
    ground: readGround(document.ground, frame),
    ...readConfirmations(document.confirm, frame),
  };
  faults.refuse();
  return rows;
};

const instant = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());

/** The rows in the form that the database takes. */
export const storedRows = (
  rows: ShiftRows,
  { activityCodes, equipment, groundClasses, supportItems, machine }: ShiftContext,
) => ({
  borings: rows.borings.map((row): object => ({
    ...row,
    ...(valuesOf(row, machine) satisfies BoringValues),
    fromM: metresText(row.fromMm),
    toM: metresText(row.toMm),
    startedAt: instant(row.startedAt),
    endedAt: instant(row.endedAt),
  })),
  activities: rows.activities.map((row) => ({
    ...row,
    codeId: activityCodes[row.code],
    equipmentId: row.equipment === undefined ? null : equipment[row.equipment],
    startedAt: instant(row.startedAt),
    endedAt: instant(row.endedAt),
  })),
  support: rows.support.map((row, index) => ({
    ...row,
    line: index + 1,
    itemId: supportItems[row.item]?.id,
    fromM: metresText(row.fromMm),
    toM: metresText(row.toMm),
    positionsM: row.positionsMm?.map(metresText),
    installedAt: instant(row.installedAt),
  })),
  ground: rows.ground.map((row) => ({
    ...row,
    classId: groundClasses[row.groundClass],
    fromM: metresText(row.fromMm),
    toM: metresText(row.toMm),
  })),
  confirm: (rows.confirm ?? []).map(({ fromMm, ...row }, index) => ({
    ...row,
    line: index + 1,
    fromM: fromMm === undefined ? null : metresText(fromMm),
  })),
});
