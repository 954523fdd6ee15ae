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

/** Rows keep the pointer of the entry they come from, for errors found later. Positions are driven millimetres. */
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
  /** not there when none is named, so that the digest of a shift stored before there was equipment stands */
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
  /** not there when none is given, so that the digest of a shift stored before there was this volume stands */
  deliveredVolumeM3?: string;
  /** of the pieces, likewise not there when not given */
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
  /** not there: wherever in the shift */
  fromMm?: number;
  reason: string;
}

/** A shift document in its canonical form: in driven millimetres and milliseconds, ordered, nothing left out. */
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
  /** not there when none is given, so that the digest of a shift stored before there were doubts stands */
  confirm?: ConfirmationRow[];
}

/** The part of the canonical form that reading the lists needs. */
export interface ShiftFrame {
  startsAt: number;
  endsAt: number;
  context: ShiftContext;
  faults: Faults;
  /** A shift may have thousands of borings. */
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
 * Reads a document against its context.
 * @throws ProblemError invalid with every fault that the document has in itself
 */
export const shiftRows = async (
  document: ShiftDocument,
  key: ShiftKey,
  context: ShiftContext,
): Promise<ShiftRows> => {
  const faults = new Faults();
  // A countersigned shift that is given back as it was read is what was submitted.
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

/** The rows as the database takes them. */
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
