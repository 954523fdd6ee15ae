import { DriveFrame } from '../../../common/drive-places.js';
import type { Direction } from '../../../engineering/chainage.js';
import type { BoringMachine } from '../../../engineering/stroke-values.js';
import type { StrokeValues } from './import-rows.js';

/** An existing boring of the drive. */
export interface Standing extends StrokeValues {
  id: number;
  /** date and name of its shift; null: imported */
  shift: string | null;
}

/** Data of the drive's machine, and the instant from which they are in force; null: from the beginning. */
export interface DatedMachine extends BoringMachine {
  validFrom: number | null;
}

/** The context in which a table is validated. */
export interface ImportContext {
  frame: DriveFrame;
  /** of the project (IANA) */
  timeZone: string;
  /** by the date from which they are in force; empty: the drive has no machine */
  machines: DatedMachine[];
  /** along the drive */
  standing: Standing[];
  /** strokes of several borings, each as a whole, by number */
  several: ReadonlyMap<number, StrokeValues>;
}

type Timed<T> = Omit<T, 'startedAt' | 'endedAt'> & { startedAt: string | null; endedAt: string | null };

interface Row {
  startMm: number;
  lengthMm: number;
  direction: Direction;
  timeZone: string;
  machines: (Omit<DatedMachine, 'validFrom'> & { validFrom: string | null })[];
  standing: Timed<Standing>[];
  several: Timed<StrokeValues>[];
}

const ms = (instant: string | null): number | null => (instant === null ? null : Date.parse(instant));

const timed = <T extends { startedAt: string | null; endedAt: string | null }>(stroke: T) => ({
  ...stroke,
  startedAt: ms(stroke.startedAt),
  endedAt: ms(stroke.endedAt),
});

/** Parses the context as written by the database. */
export const readContext = (text: string): ImportContext => {
  const { startMm, lengthMm, direction, timeZone, machines, standing, several } = JSON.parse(text) as Row;
  return {
    frame: new DriveFrame(startMm, lengthMm, direction),
    timeZone,
    machines: machines.map((machine) => ({ ...machine, validFrom: ms(machine.validFrom) })),
    standing: standing.map(timed),
    several: new Map(several.map((stroke) => [stroke.number, timed(stroke)])),
  };
};
