import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { aShift } from './shift.js';

// Submitted day shifts of the trial project, with every minute booked.

/** A day of maintenance; a remark makes it different. */
export const idleDay = (date: string, remark?: string): ShiftDocument => ({
  ...aShift(date).submitted().withActivity('MAINT', '06:00', '18:00').build(),
  remark,
});

/** A day that bores in its first hour and installs bolts over that length. */
export const boredDay = (
  date: string,
  stroke: number,
  from: string,
  to: string,
  quantity: string,
): ShiftDocument =>
  aShift(date)
    .submitted()
    .withStroke(stroke, from, to, '06:00', '07:00', {
      thrustKn: 9000,
      torqueKnm: 900,
      rotationRpm: 6,
      penetrationMmPerRev: 8,
    })
    .withActivity('BORE', '06:00', '07:00')
    .withActivity('MAINT', '07:00', '18:00')
    .withSupport('BOLT', from, to, quantity)
    .withGround('A', from, to)
    .build();
