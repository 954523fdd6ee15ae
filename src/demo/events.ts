import type { ResponsibleParty } from '../generated/prisma/enums.js';
import type { ActivityName, EQUIPMENT } from './site.js';

/** A stop during the shift; a stroke in progress pauses and continues after it. */
export interface StopEvent {
  /** From the start of the shift. [min] */
  afterMinutes: number;
  code: ActivityName;
  minutes: number;
  /** The contractor by default. */
  responsibleParty?: ResponsibleParty;
  equipment?: keyof typeof EQUIPMENT;
  remark: string;
}

/** Stops of the drive, by date and shift. */
export const EVENTS: Record<string, StopEvent[]> = {
  '2021-03-18 night': [
    {
      afterMinutes: 305,
      code: 'WAITING',
      minutes: 48,
      responsibleParty: 'third_party',
      remark: 'supply of electricity to the site failed',
    },
  ],
  '2021-03-19 day': [{ afterMinutes: 330, code: 'CUTTERS', minutes: 95, remark: 'discs 31, 33, 40 changed' }],
  '2021-03-23 night': [
    { afterMinutes: 30, code: 'CUTTERS', minutes: 130, remark: 'discs 28, 35, 41, 44 changed' },
  ],
  '2021-03-24 day': [
    {
      afterMinutes: 431,
      code: 'BREAKDOWN',
      minutes: 235,
      equipment: 'BELT',
      remark: 'gearbox of the main belt drive: bearing replaced',
    },
  ],
  '2021-03-25 night': [
    {
      afterMinutes: 160,
      code: 'WAITING',
      minutes: 85,
      responsibleParty: 'employer',
      remark: 'decision on the support of the fault zone',
    },
  ],
  '2021-03-30 day': [{ afterMinutes: 260, code: 'CUTTERS', minutes: 80, remark: 'discs 36, 42 changed' }],
};

/** In these shifts the crew bores until the end of the shift, and the next crew finishes the stroke. */
export const BORES_TO_THE_END = new Set(['2021-03-20 night', '2021-03-21 night']);

/** This shift's sheet reaches the office after all the others. */
export const LATE = { date: '2021-03-29', shift: 'night' };
