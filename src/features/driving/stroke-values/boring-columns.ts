import type { BoringValues, MeasuredBoring } from '../../../engineering/stroke-values.js';

// The columns of a boring and their types, by the property that fills them: fromM fills from_m.

const PLACE = {
  strokeNumber: 'int',
  fromM: 'numeric',
  toM: 'numeric',
  startedAt: 'timestamptz',
  endedAt: 'timestamptz',
};

const READINGS = {
  thrustKn: 'float8',
  torqueKnm: 'float8',
  rotationRpm: 'float8',
  penetrationMmPerRev: 'float8',
  gripperPressureBar: 'float8',
  muckMassT: 'numeric',
} satisfies Record<keyof MeasuredBoring | 'gripperPressureBar' | 'muckMassT', string>;

const VALUES = {
  penetrationRateMPerH: 'float8',
  thrustPerDiscKn: 'float8',
  fieldPenetrationIndex: 'float8',
  specificEnergyMjPerM3: 'float8',
  theoreticalTorqueKnm: 'float8',
  torqueRatio: 'float8',
  regularAdvance: 'boolean',
  powerKw: 'float8',
  torquePenetrationIndex: 'float8',
} satisfies Record<keyof BoringValues, string>;

const columnOf = (property: string): string =>
  property.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);

/** Columns in SQL, and as they come in rows of JSON named r. */
interface Columns {
  /** from_m, … */
  names: string;
  /** r."fromM", … */
  values: string;
  /** "fromM" numeric, … for jsonb_to_recordset */
  record: string;
}

const columnsOf = (types: Record<string, string>): Columns => {
  const each = (write: (property: string, type: string) => string): string =>
    Object.entries(types)
      .map(([property, type]) => write(property, type))
      .join(', ');
  return {
    names: each(columnOf),
    values: each((property) => `r."${property}"`),
    record: each((property, type) => `"${property}" ${type}`),
  };
};

/** All written columns of a boring except its owner. */
export const BORING = columnsOf({ ...PLACE, ...READINGS, ...VALUES });

/** The values computed from its readings and stored with it. */
export const BORING_VALUES = columnsOf(VALUES);
