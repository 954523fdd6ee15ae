import { EnumField, IntField, TextField } from '../../../common/api/fields.js';
import { ChainageRange } from '../record/as-built.models.js';
import { TABLE_KEYS } from './tables.js';
import { TRACK_NAMES } from './tracks/tracks.js';

/** Scale denominators along the axis. */
export const SCALES = [100, 200, 500, 1000, 2000, 5000] as const;

export const StripScale = Object.fromEntries(SCALES.map((each) => [`1:${each}`, `1:${each}`]));

/** Query of a strip. */
export class StripQuery extends ChainageRange {
  @EnumField({
    description: 'Scale along the axis. Default: the largest at which the interval fits on six sheets',
    values: StripScale,
    name: 'StripScale',
    optional: true,
  })
  scale?: string;

  @TextField({
    description: `Names of the tracks from top to bottom, separated by commas. Default, all: ${TRACK_NAMES.join(', ')}`,
    maxLength: 500,
    optional: true,
  })
  tracks?: string;
}

export class StripSheetQuery extends StripQuery {
  @IntField({
    description:
      'Number of a sheet of the PDF, to draw that sheet only. Default: everything as one long sheet',
    min: 1,
    max: 10_000,
    optional: true,
  })
  sheet?: number;
}

export const StripTableKey = Object.fromEntries(TABLE_KEYS.map((each) => [each, each]));

export class StripTableQuery extends ChainageRange {
  @EnumField({
    description: 'Which of the tables, as their titles name them',
    values: StripTableKey,
    name: 'StripTableKey',
  })
  table: string;
}
