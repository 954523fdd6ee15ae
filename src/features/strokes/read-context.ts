import { DriveFrame } from '../../common/drive-places.js';
import type { Direction } from '../../engineering/chainage.js';
import type { BoringMachine } from '../../engineering/stroke-values.js';
import type { StrokeValues } from './import-rows.js';

/** A boring that stands on the drive. */
export interface Standing extends StrokeValues {
  id: number;
  /** date and name of the shift it was posted with; null: imported */
  shift: string | null;
}

/** What a table is judged by. */
export interface ImportContext {
  frame: DriveFrame;
  machine: BoringMachine | null;
  /** along the drive */
  standing: Standing[];
}

interface Row {
  startMm: number;
  lengthMm: number;
  direction: Direction;
  machine: BoringMachine | null;
  standing: (Omit<Standing, 'startedAt' | 'endedAt'> & {
    startedAt: string | null;
    endedAt: string | null;
  })[];
}

const ms = (instant: string | null): number | null => (instant === null ? null : Date.parse(instant));

/** Reads the context as the database wrote it. */
export const readContext = (text: string): ImportContext => {
  const { startMm, lengthMm, direction, machine, standing } = JSON.parse(text) as Row;
  return {
    frame: new DriveFrame(startMm, lengthMm, direction),
    machine,
    standing: standing.map((boring) => ({
      ...boring,
      startedAt: ms(boring.startedAt),
      endedAt: ms(boring.endedAt),
    })),
  };
};
