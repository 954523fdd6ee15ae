import { ISRM_1978 } from './isrm-1978.js';
import { Q_1974 } from './q-1974.js';
import { Q_1974_2 } from './q-1974-2.js';
import { Q_2013 } from './q-2013.js';
import { Q_2013_2 } from './q-2013-2.js';
import { RMR_1989 } from './rmr-1989.js';
import { RMR_1989_2 } from './rmr-1989-2.js';
import type { QEdition, RatingEdition, RmrEdition } from './tables.js';

/** Every edition that a record can name. */
export const RATING_EDITIONS: readonly RatingEdition[] = [
  Q_1974,
  Q_1974_2,
  Q_2013,
  Q_2013_2,
  RMR_1989,
  RMR_1989_2,
  ISRM_1978,
];

/** The classes of strength that a log gives. */
export const STRENGTH_EDITION = ISRM_1978;

export const ratingEdition = (id: string): RatingEdition | undefined =>
  RATING_EDITIONS.find((edition) => edition.id === id);

export const qEdition = (id: string): QEdition | undefined => {
  const found = ratingEdition(id);
  return found?.system === 'q' ? found : undefined;
};

export const rmrEdition = (id: string): RmrEdition | undefined => {
  const found = ratingEdition(id);
  return found?.system === 'rmr' ? found : undefined;
};

/** The edition of RMR by which proposals are made and whose support guide is answered. */
export const CURRENT_RMR = RMR_1989_2;

/** The last edition that corrects this one; itself where none does. */
export const latestOf = (edition: QEdition): QEdition => {
  const next = RATING_EDITIONS.find(({ supersedes }) => supersedes === edition.id);
  return next?.system === 'q' ? latestOf(next) : edition;
};

/** The excavation support ratios that are advised on. */
export const { esr: ESR } = Q_2013_2.tables;
