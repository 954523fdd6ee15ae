import { axialReach } from '../engineering/probe-hole.js';
import type { ProbeHoleInput } from '../features/ahead/probing/probe-hole.model.js';
import type { ProbeLogInterval } from '../features/ahead/probing/probe-log.model.js';
import type { ProbeRequirementsInput } from '../features/ahead/probing/probe-requirement.models.js';
import { ProbeHoleState, ProbeMethod } from '../generated/prisma/enums.js';
import { localText, MINUTE } from './clock.js';
import { groundClassAt } from './ground.js';
import { chainageAt } from './site.js';

/** The invented contract requires probing from here on, because the fault was expected. [mm] */
const PROBED_FROM_MM = 128_000;
/** The face stops for probing when less than this cover is left. [mm] */
const LEAST_COVER_MM = 10_000;

/** Smaller than the cover at which the face stops by the longest stroke, so that a stroke begun in time keeps it. */
export const PROBE_REQUIREMENTS = {
  requirements: [
    {
      name: 'CROWN',
      holeCount: 1,
      sectors: [{ fromDeg: '330.00', toDeg: '30.00' }],
      overlapM: '8.000',
      leastLengthM: '30.000',
    },
  ],
} satisfies ProbeRequirementsInput;

const COLLAR_BEHIND_FACE_MM = 4_600;
/** Holes of the fan: crown first, then right and left below. All within the 12° beyond which a hole gives no cover. */
const FAN = [
  { positionDeg: 0, lookOutDeg: 5 },
  { positionDeg: 120, lookOutDeg: 7 },
  { positionDeg: 240, lookOutDeg: 7 },
];
const LOOK_OUT_DEG = 5;
const LENGTHS_M = [32, 34, 36];
/** The round whose crown hole met water. */
const WATER_ROUND = 3;
export const WET_HOLE = 'P03-1';
/** Drilled with the next round, to check the grouting in between. */
export const CONTROL_HOLE = 'K-1';

const BIT_MM = '64.00';

/** Sound granite; in the wet hole it becomes soft at 21.4 m, with water. */
const logOf = (lengthM: number, wet: boolean): ProbeLogInterval[] => {
  const sound = { penetrationRateMPerMin: '1.400', flushingColour: 'grey', rock: 'granite, sound' };
  if (!wet) return [{ ...sound, fromM: '0.000', toM: lengthM.toFixed(3) }];
  const soft = {
    penetrationRateMPerMin: '2.900',
    flushingColour: 'brown',
    flushingLossPercent: '20.00',
    waterInflowLPerMin: '42.00',
    waterPressureBar: '4.50',
    rock: 'granite, decomposed',
  };
  return [
    { ...sound, fromM: '0.000', toM: '21.400' },
    { ...soft, fromM: '21.400', toM: lengthM.toFixed(3) },
  ];
};

export interface Probing {
  holes: { name: string; input: ProbeHoleInput }[];
  rounds: number;
  /** How far the last round reaches. [mm] */
  reachMm: number;
}

export const noProbing = (): Probing => ({ holes: [], rounds: 0, reachMm: 0 });

export const probingDue = ({ reachMm }: Probing, faceMm: number): boolean =>
  faceMm >= PROBED_FROM_MM && reachMm - faceMm < LEAST_COVER_MM;

/** One hole in the crown; a fan of three in worse ground and with water. */
export const holesWanted = ({ rounds }: Probing, faceMm: number): number =>
  ['C', 'D'].includes(groundClassAt(faceMm)) || rounds + 1 === WATER_ROUND ? FAN.length : 1;

const controlHole = (faceMm: number, drilledAt: number): Probing['holes'][number] => ({
  name: CONTROL_HOLE,
  input: {
    collar: chainageAt(faceMm - 500),
    face: chainageAt(faceMm),
    positionDeg: '15.00',
    lookOutDeg: '5.00',
    lengthM: '15.000',
    diameterMm: BIT_MM,
    method: ProbeMethod.percussive,
    state: ProbeHoleState.control_hole,
    drilledAt: localText(drilledAt - 20 * MINUTE),
    log: logOf(15, false),
  },
});

/** Drills a round of holes from behind the face. */
export const drillRound = (probing: Probing, faceMm: number, drilledAt: number): void => {
  const wanted = holesWanted(probing, faceMm);
  probing.rounds += 1;
  const { rounds } = probing;
  const lengthM = LENGTHS_M[rounds % LENGTHS_M.length] ?? 32;
  const collarMm = faceMm - COLLAR_BEHIND_FACE_MM;
  FAN.slice(0, wanted).forEach(({ positionDeg, lookOutDeg }, index) => {
    const wet = rounds === WATER_ROUND && index === 0;
    probing.holes.push({
      name: `P${String(rounds).padStart(2, '0')}-${index + 1}`,
      input: {
        collar: chainageAt(collarMm),
        face: chainageAt(faceMm),
        positionDeg: positionDeg.toFixed(2),
        lookOutDeg: lookOutDeg.toFixed(2),
        lengthM: lengthM.toFixed(3),
        plannedLengthM: lengthM.toFixed(3),
        diameterMm: BIT_MM,
        method: ProbeMethod.percussive,
        state: ProbeHoleState.drilled,
        drilledAt: localText(drilledAt),
        log: logOf(lengthM, wet),
        ...(wet
          ? {
              waterInflowLPerMin: '42.00',
              waterDepthM: '21.400',
              remark: 'clear water under pressure; soft from 22 m',
            }
          : {}),
      },
    });
  });
  if (rounds === WATER_ROUND + 1) probing.holes.push(controlHole(faceMm, drilledAt));
  probing.reachMm = collarMm + Math.round(axialReach(lengthM, LOOK_OUT_DEG) * 1000);
};
