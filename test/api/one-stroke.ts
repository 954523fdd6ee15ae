import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { aShift } from '../builders/shift.js';

/** A draft of the day with one stroke of 1.7 m, starting at a chainage at 07:00 UTC. */
export const oneStroke = (date: string, number: number, from: number, more: object = {}): ShiftDocument =>
  aShift(date)
    .withStroke(number, String(from), String(from + 1.7), '07:00', '07:40', { ...more })
    .build();
