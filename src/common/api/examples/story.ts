import { GROUND } from './ground.js';
import { PAYMENT } from './payment.js';
import { RECORD } from './record.js';
import { SET_UP } from './set-up.js';
import { SPARES } from './spares.js';
import type { Step } from './step.js';

/**
 * An invented story of a project, in an order in which its requests can be sent to a new installation. The OpenAPI document
 * takes its examples from here; a test takes them from the document and sends them.
 */
export const STORY: readonly Step[] = [...SET_UP, ...RECORD, ...GROUND, ...PAYMENT];

/** The story, followed by the removals that are possible after it. */
export const WITH_REMOVALS: readonly Step[] = [...STORY, ...SPARES];
