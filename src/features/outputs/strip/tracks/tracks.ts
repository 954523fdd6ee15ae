import { ADVANCE, DATES } from './advance.js';
import { GROUTING, PROBING } from './ahead.js';
import { CURVES } from './curves.js';
import { CLASS, LITHOLOGY } from './ground.js';
import { PHOTOS, REMARKS } from './notes.js';
import { DISCONTINUITIES, GSI, Q, RMR } from './ratings.js';
import { REQUIRED } from './required.js';
import { SUPPORT } from './support.js';
import type { Track } from './track.js';
import { OVERBREAK, WATER } from './water.js';

/** All tracks, in their usual order. */
export const TRACKS: readonly Track[] = [
  DATES,
  ADVANCE,
  LITHOLOGY,
  CLASS,
  Q,
  RMR,
  GSI,
  DISCONTINUITIES,
  WATER,
  OVERBREAK,
  REQUIRED,
  SUPPORT,
  PROBING,
  GROUTING,
  ...CURVES,
  REMARKS,
  PHOTOS,
];

export const TRACK_NAMES: readonly string[] = TRACKS.map(({ name }) => name);
