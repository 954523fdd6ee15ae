import { requireAboveZero, requireZeroOrMore } from './checks.js';

/** Thresholds that classify samples. A threshold is reached when the reading is at least as large. */
export interface SegmentationThresholds {
  /** penetration rate at which boring begins, and below which it ends [mm/min] */
  beginRateMmPerMin: number;
  endRateMmPerMin: number;
  /** thrust at which boring begins, and below which it ends [kN] */
  beginThrustKn: number;
  endThrustKn: number;
  /** a stop shorter than this does not end a boring [s] */
  mergeGapS: number;
  /** a boring shorter than either is discarded as noise [s], [mm] */
  minBoringS: number;
  minBoringMm: number;
  /** longest time between two consecutive samples [s] */
  maxGapS: number;
  /** shortest regrip [s] */
  minRegripS: number;
  /** gripper pressure below which the grippers are loose [bar] */
  regripPressureBar: number;
  /** the same in terms of thrust, where no gripper pressure is measured [kN] */
  regripThrustKn: number;
  /** drift of the position between two borings that is closed, in either direction [mm] */
  closeGapMm: number;
  /** jump of the position between two samples that boring cannot explain [mm] */
  positionJumpMm: number;
}

/** For a gripper TBM of 6 to 10 m; every machine needs its own values. Project rule. */
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

/** End thresholds must not lie above the corresponding begin thresholds: otherwise every boring would end as it begins. */
const HYSTERESIS = [
  ['endRateMmPerMin', 'beginRateMmPerMin'],
  ['endThrustKn', 'beginThrustKn'],
] as const;

export interface ThresholdFault {
  field: keyof SegmentationThresholds;
  detail: string;
}

/** Conflicts between thresholds that are each within their range. */
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

/** @throws RangeError when a threshold is out of range or two conflict */
export const requireThresholds = (thresholds: SegmentationThresholds): void => {
  const { endRateMmPerMin, maxGapS, ...others } = thresholds;
  requireAboveZero({ endRateMmPerMin, maxGapS });
  requireZeroOrMore({ ...others });
  const [fault] = thresholdFaults(thresholds);
  if (fault) throw new RangeError(`${fault.detail}.`);
};
