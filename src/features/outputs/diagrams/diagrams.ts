import { ADVANCE } from './advance.js';
import type { Diagram } from './diagram.js';
import { LOST_TIME } from './lost-time.js';
import { TIME_CHAINAGE } from './time-chainage.js';

/** All diagrams that are charts, in the order of their list. */
export const DIAGRAMS: Diagram[] = [TIME_CHAINAGE, ADVANCE, LOST_TIME];
