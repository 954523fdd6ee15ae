import type { Fault } from '../../../common/api/problem.js';
import { atMap, type ColumnMap, needsEither, type RowKind } from './column-map.js';

/** Readings of a sample, each with the largest value accepted, in the unit of its name; constraints of the table check the same. */
export const SAMPLE_READINGS = {
  thrustKn: 1_000_000,
  torqueKnm: 1_000_000,
  rotationRpm: 100,
  penetrationRateMmPerMin: 1000,
  gripperPressureBar: 2000,
  muckFlowTPerH: 20_000,
} as const;

export type SampleReading = keyof typeof SAMPLE_READINGS;

export const READING_NAMES = Object.keys(SAMPLE_READINGS) as SampleReading[];

export const SAMPLE_FIELDS = ['at', 'chainage', 'positionM', ...READING_NAMES] as const;

export type SampleField = (typeof SAMPLE_FIELDS)[number];

const incomplete = (map: ColumnMap<SampleField>): Fault[] => [
  ...(map.has('at') ? [] : [atMap('at', undefined, 'the map does not name the column of the time, at')]),
  ...needsEither(map, 'chainage', 'positionM'),
];

/** A row of a table of samples, for its column map. */
export const SAMPLE: RowKind<SampleField> = {
  name: 'a sample',
  fields: SAMPLE_FIELDS,
  readings: SAMPLE_READINGS,
  incomplete,
};
