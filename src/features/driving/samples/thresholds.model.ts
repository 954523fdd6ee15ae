import { InputType, ObjectType } from '@nestjs/graphql';
import { NumberField } from '../../../common/api/fields.js';
import {
  type SegmentationThresholds,
  USUAL_THRESHOLDS as USUAL,
} from '../../../engineering/segmentation-thresholds.js';

const Threshold = (
  name: keyof SegmentationThresholds,
  description: string,
  min: number,
  max: number,
): PropertyDecorator =>
  NumberField({ description: `${description}; ${USUAL[name]} when absent`, min, max, optional: true });

/** Each machine needs its own; a proposal stores the ones it was computed with. */
@InputType('SegmentationThresholdsInput', {
  description: 'Thresholds by which borings and regrips are recognised in machine samples.',
})
@ObjectType('SegmentationThresholds', {
  description: 'Thresholds by which borings and regrips are recognised in machine samples.',
})
export class Thresholds implements Partial<SegmentationThresholds> {
  @Threshold('beginRateMmPerMin', 'Penetration rate at which boring begins [mm/min]', 0.1, 1000)
  beginRateMmPerMin?: number;

  @Threshold('endRateMmPerMin', 'Penetration rate below which it ends [mm/min]', 0.1, 1000)
  endRateMmPerMin?: number;

  @Threshold('beginThrustKn', 'Thrust at which boring begins [kN]', 0, 1_000_000)
  beginThrustKn?: number;

  @Threshold('endThrustKn', 'Thrust below which it ends [kN]', 0, 1_000_000)
  endThrustKn?: number;

  @Threshold('mergeGapS', 'A stop shorter than this does not end a boring [s]', 0, 3600)
  mergeGapS?: number;

  @Threshold('minBoringS', 'A boring shorter than this is noise [s]', 0, 3600)
  minBoringS?: number;

  @Threshold('minBoringMm', 'A boring shorter than this is noise [mm]', 0, 1000)
  minBoringMm?: number;

  @Threshold('maxGapS', 'Longest time between two samples that belong together [s]', 1, 3600)
  maxGapS?: number;

  @Threshold('minRegripS', 'Shortest regrip [s]', 1, 7200)
  minRegripS?: number;

  @Threshold('regripPressureBar', 'Gripper pressure below which the grippers are loose [bar]', 0, 2000)
  regripPressureBar?: number;

  @Threshold(
    'regripThrustKn',
    'The same by the thrust, where no gripper pressure is measured [kN]',
    0,
    1_000_000,
  )
  regripThrustKn?: number;

  @Threshold('closeGapMm', 'Drift of the position between two borings that is closed [mm]', 0, 100)
  closeGapMm?: number;

  @Threshold(
    'positionJumpMm',
    'Step of the position between two samples that no boring explains [mm]',
    1,
    10_000,
  )
  positionJumpMm?: number;
}
