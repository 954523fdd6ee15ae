import { ADVANCE } from './advance.js';
import { BILL_QUANTITIES } from './bill-quantities.js';
import { CLASS_SHARES } from './class-shares.js';
import type { Diagram } from './diagram.js';
import { INFLOW_ALONG } from './inflow.js';
import { LOST_TIME } from './lost-time.js';
import { MISSING_SUPPORT } from './missing-support.js';
import { STROKES_ALONG } from './strokes.js';
import { TIME_CHAINAGE } from './time-chainage.js';
import { UTILISATION } from './utilisation.js';

/** All diagrams that are charts, in the order of their list. */
export const DIAGRAMS: Diagram[] = [
  TIME_CHAINAGE,
  ADVANCE,
  LOST_TIME,
  UTILISATION,
  CLASS_SHARES,
  BILL_QUANTITIES,
  MISSING_SUPPORT,
  STROKES_ALONG,
  INFLOW_ALONG,
];
