import type { ProbeCover } from './probe-cover.model.js';

const counted = (count: number | undefined, word: string): string =>
  `${count ?? 0} ${word}${count === 1 ? '' : 's'}`;

/** Why the face may advance this far and no further, in words. */
export const coverReasons = (cover: Omit<ProbeCover, 'holes' | 'reasons' | 'caution'>): string[] => {
  const { end } = cover;
  if (!cover.hasRequirement)
    return [
      'No probe requirement is in force for the drive: how far the face may go is not known',
      ...holding(cover),
    ];
  return [
    ...(end ? missing(end) : ['What is required is covered to the end of the drive']),
    ...(cover.overlapRequirement == null
      ? []
      : [
          `Requirement ${cover.overlapRequirement} asks for ${cover.overlapM} m ahead of the face: it may go ${cover.permittedM} m, to ${cover.permittedToChainage}`,
        ]),
    ...(cover.strokeLengthM == null
      ? ['The machine of the drive has no stroke length: the number of strokes is not known']
      : []),
    ...holding(cover),
  ];
};

type Holding = Pick<
  ProbeCover,
  'nextHoldPoint' | 'nextHoldPointChainage' | 'toNextHoldPointM' | 'passedHoldPointCount'
>;

/** A hold point stops the face even if probing would let it pass. */
const holding = ({
  nextHoldPoint,
  nextHoldPointChainage,
  toNextHoldPointM,
  passedHoldPointCount,
}: Holding): string[] => [
  ...(nextHoldPoint == null
    ? []
    : [
        `Hold point ${nextHoldPoint} at ${nextHoldPointChainage}, ${toNextHoldPointM} m ahead, is not released`,
      ]),
  ...(passedHoldPointCount > 0
    ? [`${counted(passedHoldPointCount, 'hold point')} behind the face not released`]
    : []),
];

const missing = ({
  at,
  requirement,
  requiredHoles,
  countedHoles,
  emptySectors,
}: NonNullable<ProbeCover['end']>): string[] => {
  if (requirement == null) return [`No requirement names the place ${at}: it counts as not covered`];
  return [
    ...(countedHoles < (requiredHoles ?? 0)
      ? [
          `Requirement ${requirement} asks for ${counted(requiredHoles, 'hole')} at ${at}; ${countedHoles} reach over it and count`,
        ]
      : []),
    ...emptySectors.map(
      ({ fromDeg, toDeg }) =>
        `Requirement ${requirement} asks for a hole from ${fromDeg}° to ${toDeg}° at ${at}; none there counts`,
    ),
  ];
};
