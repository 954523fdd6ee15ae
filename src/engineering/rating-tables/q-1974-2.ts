import { Q_1974 } from './q-1974.js';
import { THICK_CLAY_FRICTION_DEG, withFriction } from './q-friction.js';
import type { QEdition } from './tables.js';

const [STRONG, LOW, SWELLING] = THICK_CLAY_FRICTION_DEG;
const { ja } = Q_1974.tables;

/** 1974 with φr beside Ja; for row N, clay bands, no φr was found. */
export const Q_1974_2: QEdition = {
  ...Q_1974,
  id: 'q-1974.2',
  title: 'Q-system, 1974; second issue, with φr',
  supersedes: Q_1974.id,
  tables: {
    ...Q_1974.tables,
    ja: {
      ...ja,
      rule: 'φr is the residual friction angle, approximate.',
      rows: withFriction(ja.rows, { O: STRONG, P: LOW, R: SWELLING }),
    },
  },
};
