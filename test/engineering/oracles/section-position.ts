import { sectionPoint } from '../../../src/engineering/probe-hole.js';

const RADIANS = Math.PI / 180;

/** Where a hole pierces a section, by distance from the axis [m] and clock position [°, from 0 to below 360]. */
export const sectionPosition = (
  ...at: Parameters<typeof sectionPoint>
): { radiusM: number; clockDeg: number } => {
  const { rightM, upM } = sectionPoint(...at);
  return {
    radiusM: Math.hypot(rightM, upM),
    clockDeg: (Math.atan2(rightM, upM) / RADIANS + 360) % 360,
  };
};
