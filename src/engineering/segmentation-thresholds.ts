import { requireAboveZero, requireZeroOrMore } from './checks.js';

/** By which the samples are distinguished. A threshold is met when the reading is at least as large. */
export interface SegmentationThresholds {
  /** penetration rate at which boring begins, and below which it ends [mm/min] */
  beginRateMmPerMin: number;
  endRateMmPerMin: number;
  /** thrust at which boring begins, and below which it ends [kN] */
  beginThrustKn: number;
  endThrustKn: number;
  /** a stop shorter than this does not end a boring [s] */
  mergeGapS: number;
  /** a boring shorter than either is noise [s], [mm] */
  minBoringS: number;
  minBoringMm: number;
  /** longest time between two samples that belong together [s] */
  maxGapS: number;
  /** shortest regrip [s] */
  minRegripS: number;
  /** gripper pressure below which the grippers are loose [bar] */
  regripPressureBar: number;
  /** the same by the thrust, where no gripper pressure is measured [kN] */
  regripThrustKn: number;
  /** drift of the position between two borings that is closed, forward or back [mm] */
  closeGapMm: number;
  /** step of the position between two samples that no boring explains [mm] */
  positionJumpMm: number;
}

/** Of a gripper TBM of 6 to 10 m; every machine wants its own. Project rule. */
export const USUAL_THRESHOLDS: SegmentationThresholds = {
  beginRateMmPerMin: 5,
  endRateMmPerMin: 2,
  beginThrustKn: 2000,
  endThrustKn: 1000,
  mergeGapS: 30,
  minBoringS: 30,
  minBoringMm: 10,
  maxGapS: 60,
  minRegripS: 60,
  regripPressureBar: 100,
  regripThrustKn: 500,
  closeGapMm: 20,
  positionJumpMm: 100,
};

/** Thresholds of an end that must not lie above those of a beginning: else every boring would end as it begins. */
const HYSTERESIS = [
  ['endRateMmPerMin', 'beginRateMmPerMin'],
  ['endThrustKn', 'beginThrustKn'],
] as const;

export interface ThresholdFault {
  field: keyof SegmentationThresholds;
  detail: string;
}

/** What does not fit together among thresholds that are each within their range. */
export const thresholdFaults = (thresholds: SegmentationThresholds): ThresholdFault[] =>
  HYSTERESIS.flatMap(([end, begin]) =>
    thresholds[end] > thresholds[begin]
      ? [
          {
            field: end,
            detail: `${end} is ${thresholds[end]}; it must not lie above ${begin}, ${thresholds[begin]}`,
          },
        ]
      : [],
  );

/** @throws RangeError when a threshold is out of its range or two do not fit together */
export const requireThresholds = (thresholds: SegmentationThresholds): void => {
  const { endRateMmPerMin, maxGapS, ...others } = thresholds;
  requireAboveZero({ endRateMmPerMin, maxGapS });
  requireZeroOrMore({ ...others });
  const [fault] = thresholdFaults(thresholds);
  if (fault) throw new RangeError(`${fault.detail}.`);
};
