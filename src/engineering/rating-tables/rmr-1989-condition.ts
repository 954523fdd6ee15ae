import { band, bandAbove, one, type RatingRow, type RatingTable, type RmrTable } from './tables.js';

type ConditionTable = Extract<
  RmrTable,
  'condition_short' | 'persistence' | 'aperture' | 'roughness' | 'infilling' | 'weathering'
>;

const LOWER_BOUND = 'The lower bound is in its band, unless the band is published as above it.';

/** R4 of 1989: by one row of the short table, or as the sum of the five detailed ones. */
export const CONDITION = (source: string): Record<ConditionTable, RatingTable> => {
  const table = (
    id: ConditionTable,
    title: string,
    rows: readonly RatingRow[],
    more: Pick<RatingTable, 'unit' | 'rule'> = {},
  ): RatingTable => ({ id, title, ...more, source, mark: 'transcribed', rows });
  return {
    condition_short: table('condition_short', 'R4, condition of discontinuities, short table', [
      one('rough_closed_fresh', 30, 'Very rough, not continuous, closed, walls fresh'),
      one('slightly_weathered', 25, 'Slightly rough, < 1 mm, walls slightly weathered'),
      one('highly_weathered', 20, 'Slightly rough, < 1 mm, walls highly weathered'),
      one('slickensided_or_open', 10, 'Slickensided, or gouge < 5 mm, or 1–5 mm open and continuous'),
      one('soft_gouge', 0, 'Soft gouge > 5 mm, or > 5 mm open and continuous'),
    ]),
    persistence: table(
      'persistence',
      'R4 detailed, persistence',
      [
        band('below_1', 0, 6, '< 1'),
        band('1_3', 1, 4, '1–3'),
        band('3_10', 3, 2, '3–10'),
        band('10_20', 10, 1, '10–20'),
        bandAbove('above_20', 20, 0, '> 20'),
      ],
      { unit: 'm', rule: LOWER_BOUND },
    ),
    aperture: table(
      'aperture',
      'R4 detailed, aperture; 0 is none',
      [
        band('none', 0, 6, 'None'),
        bandAbove('below_0.1', 0, 5, '< 0.1'),
        band('0.1_1', 0.1, 4, '0.1–1'),
        band('1_5', 1, 1, '1–5'),
        bandAbove('above_5', 5, 0, '> 5'),
      ],
      { unit: 'mm', rule: LOWER_BOUND },
    ),
    roughness: table('roughness', 'R4 detailed, roughness', [
      one('very_rough', 6, 'Very rough'),
      one('rough', 5, 'Rough'),
      one('slightly_rough', 3, 'Slightly rough'),
      one('smooth', 1, 'Smooth'),
      one('slickensided', 0, 'Slickensided'),
    ]),
    infilling: table('infilling', 'R4 detailed, infilling', [
      one('none', 6, 'None'),
      one('hard_below_5mm', 4, 'Hard, < 5 mm'),
      one('hard_above_5mm', 2, 'Hard, > 5 mm'),
      one('soft_below_5mm', 2, 'Soft, < 5 mm'),
      one('soft_above_5mm', 0, 'Soft, > 5 mm'),
    ]),
    weathering: table('weathering', 'R4 detailed, weathering', [
      one('fresh', 6, 'Unweathered'),
      one('slight', 5, 'Slightly weathered'),
      one('moderate', 3, 'Moderately weathered'),
      one('high', 1, 'Highly weathered'),
      one('decomposed', 0, 'Decomposed'),
    ]),
  };
};
