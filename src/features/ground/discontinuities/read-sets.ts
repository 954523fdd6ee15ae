import type { Window } from '../../../common/api/chainage-window.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import { type Direction3, fisherConcentration, setOrientation } from '../../../engineering/orientation.js';
import type { DiscontinuitySet } from './discontinuity-set.models.js';

const SETS = `select set_label as set, discontinuity_count as count, sum_east_east as xx, sum_north_north as yy, sum_down_down as zz,
  sum_east_north as xy, sum_east_down as xz, sum_north_down as yz, mean_spacing_m::text as "meanSpacingM", spacing_count as "spacingCount",
  mean_persistence_m::text as "meanPersistenceM", persistence_count as "persistenceCount", mean_aperture_mm::text as "meanApertureMm",
  aperture_count as "apertureCount", seeping_count as "seepingCount"
  from discontinuity_sets_between($1, $2, $3::numeric, $4::numeric) order by set_label nulls last`;

const RESULTANTS = `select set_label as set, resultant from discontinuity_resultant($1, $2, $3::numeric, $4::numeric, $5, $6, $7, $8)`;

type SetFigures = Pick<
  DiscontinuitySet,
  | 'set'
  | 'count'
  | 'meanSpacingM'
  | 'spacingCount'
  | 'meanPersistenceM'
  | 'persistenceCount'
  | 'meanApertureMm'
  | 'apertureCount'
  | 'seepingCount'
>;

interface SetRow {
  figures: SetFigures;
  orientation: ReturnType<typeof setOrientation>;
}

/** A set as reported, with its mean pole if it has one. */
export interface MeasuredSet {
  figures: DiscontinuitySet;
  meanPole: Direction3 | null;
}

/** The sets in a part of a drive, by label. Discontinuities without a label come last, without a mean, as they are not a set. */
export const readSets = async (
  statements: Statements,
  drive: string,
  { fromChainageM, toChainageM }: Window,
): Promise<MeasuredSet[]> => {
  const part = [scope().project, drive, fromChainageM, toChainageM];
  const rows = await readRows<SetFigures & Record<'xx' | 'yy' | 'zz' | 'xy' | 'xz' | 'yz', number>>(
    statements,
    SETS,
    ...part,
  );
  const sets = rows.map(({ xx, yy, zz, xy, xz, yz, ...figures }): SetRow => ({
    figures,
    orientation: setOrientation(figures.count, { xx, yy, zz, xy, xz, yz }),
  }));
  const means = sets.flatMap(({ figures: { set }, orientation: { meanPole } }) =>
    set != null && meanPole ? [{ set, meanPole }] : [],
  );
  const along = (k: 0 | 1 | 2): number[] => means.map(({ meanPole }) => meanPole[k]);
  const resultants = await readRows<{ set: string; resultant: number }>(
    statements,
    RESULTANTS,
    ...part,
    means.map(({ set }) => set),
    along(0),
    along(1),
    along(2),
  );
  const resultantOf = new Map(resultants.map(({ set, resultant }) => [set, resultant]));
  return sets.map((row) => measured(row, resultantOf.get(row.figures.set ?? '')));
};

/** Removes the noise of binary fractions: a dip of 60° is given as 60. */
const tidy = (figure: number): number => Number(figure.toPrecision(12));

const measured = ({ figures, orientation }: SetRow, resultant: number | undefined): MeasuredSet => {
  const isSet = figures.set != null;
  const mean = isSet ? orientation.meanPlane : null;
  const [eigenvalue1, eigenvalue2, eigenvalue3] = orientation.eigenvalues.map(tidy);
  return {
    figures: {
      ...figures,
      meanDipDeg: mean ? tidy(mean.dipDeg) : undefined,
      meanDipDirectionDeg: mean ? tidy(mean.dipDirectionDeg) % 360 : undefined,
      eigenvalue1,
      eigenvalue2,
      eigenvalue3,
      resultant,
      concentration:
        resultant === undefined ? undefined : (fisherConcentration(figures.count, resultant) ?? undefined),
      shape: orientation.shape ?? undefined,
      strength: orientation.strength ?? undefined,
    },
    meanPole: isSet ? orientation.meanPole : null,
  };
};
