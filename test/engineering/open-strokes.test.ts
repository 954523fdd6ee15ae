import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import { boringValues } from '../../src/engineering/stroke-values.js';

type Row = Record<string, string>;
type Statistic = 'mean' | 'median';

const machine = {
  discCount: 50,
  discRadiusMm: 241.3,
  boredDiameterM: 7,
  frictionKn: null,
  idleTorqueKnm: 180,
  torqueRatioLower: 0.35,
  torqueRatioUpper: 0.57,
};

const path = (relative: string): string => fileURLToPath(new URL(relative, import.meta.url));
const read = (file: string): Row[] => parse(readFileSync(file), { columns: true, bom: true });

const sample = read(path('open-strokes/sample.csv'));
const nearby = path('../../../shared/data/open-strokes/strokes-a.csv');
const wholeFile = process.env.OPEN_STROKES_CSV ?? (existsSync(nearby) ? nearby : undefined);
const table = wholeFile ? read(wholeFile) : sample;

const valuesOf = (row: Row, statistic: Statistic) =>
  boringValues(
    {
      thrustKn: Number(row[`Total advance force [kN] ${statistic}`]),
      torqueKnm: Number(row[`Torque cutterhead [MNm] ${statistic}`]) * 1000,
      rotationRpm: Number(row[`rotations [rpm] ${statistic}`]),
      penetrationMmPerRev: Number(row[`Penetration [mm/rot] ${statistic}`]),
    },
    machine,
  );

const relativeError = (value: number | null, published: string): number =>
  value === null ? Infinity : Math.abs(value / Number(published) - 1);

const classCounts = (rows: Row[], statistic: Statistic): [number, number] => {
  const regular = rows.filter((row) => valuesOf(row, statistic).regularAdvance).length;
  return [regular, rows.length - regular];
};

// Erharter et al., MIT licence, doi 10.1007/s00603-025-04542-4; see open-strokes/README.md.
describe.each<[Statistic]>([['mean'], ['median']])('published strokes, by %s', (statistic) => {
  describe.each(sample.map((row): [string, Row] => [row['Stroke number [-]'], row]))(
    'stroke %s',
    (_n, row) => {
      it('has the published theoretical torque, ratio and class', () => {
        const values = valuesOf(row, statistic);
        const publishedTorque = row[`theo. torque [kNm] ${statistic}`];
        expect(relativeError(values.theoreticalTorqueKnm, publishedTorque)).toBeLessThan(1e-12);
        expect(values.torqueRatio).toBeCloseTo(Number(row[`torque ratio [-] ${statistic}`]), 12);
        expect(values.regularAdvance).toBe(row[`advance class ${statistic}`] === '0');
      });
    },
  );

  it('agree in every row of the table at hand', () => {
    const differing = table.filter((row) => {
      const values = valuesOf(row, statistic);
      const published = Number(row[`torque ratio [-] ${statistic}`]);
      const near = Math.abs((values.torqueRatio ?? Infinity) - published) <= 1e-9;
      return !near || values.regularAdvance !== (row[`advance class ${statistic}`] === '0');
    });
    expect(differing).toEqual([]);
  });
});

describe('published classes', () => {
  it('the sample holds each kind of stroke', () => {
    expect(sample).toHaveLength(12);
    expect(classCounts(sample, 'mean')).toEqual([7, 5]);
    expect(classCounts(sample, 'median')).toEqual([8, 4]);
  });

  // The counts are the authors' own; without the whole table, those of the sample stand in.
  it('the table at hand has the published numbers of regular and exceptional strokes', () => {
    const whole = wholeFile !== undefined;
    expect(table).toHaveLength(whole ? 589 : 12);
    expect(classCounts(table, 'mean')).toEqual(whole ? [473, 116] : [7, 5]);
    expect(classCounts(table, 'median')).toEqual(whole ? [464, 125] : [8, 4]);
  });
});
