import { one, range, type RatingTable } from './tables.js';

// What the editions of 1974 and 2013 have in common.

const TRANSCRIBED =
  'Barton, Lien and Lunde 1974 and the NGI handbook, as transcribed in open sources that agree';

export const JN: RatingTable = {
  id: 'jn',
  title: 'Jn, joint set number',
  rule: 'At a portal 2·Jn counts, at an intersection 3·Jn.',
  source: TRANSCRIBED,
  mark: 'transcribed',
  rows: [
    range('A', 0.5, 1, 'Massive, none or few joints'),
    one('B', 2, 'One set'),
    one('C', 3, 'One set and random joints'),
    one('D', 4, 'Two sets'),
    one('E', 6, 'Two sets and random joints'),
    one('F', 9, 'Three sets'),
    one('G', 12, 'Three sets and random joints'),
    one('H', 15, 'Four or more sets, heavily jointed, “sugar cube”'),
    one('J', 20, 'Crushed, earth-like'),
  ],
};

const CONTACT = 'Wall contact, or contact before 10 cm of shear';
const NO_CONTACT = 'No wall contact when sheared';

export const JR: RatingTable = {
  id: 'jr',
  title: 'Jr, joint roughness number',
  rule: 'Where the geologist says that the mean spacing of the relevant set is above 3 m, 1.0 is added.',
  source: TRANSCRIBED,
  mark: 'transcribed',
  rows: [
    one('A', 4, 'Discontinuous joints', CONTACT),
    one('B', 3, 'Rough or irregular, undulating', CONTACT),
    one('C', 2, 'Smooth, undulating', CONTACT),
    one('D', 1.5, 'Slickensided, undulating', CONTACT),
    one('E', 1.5, 'Rough or irregular, planar', CONTACT),
    one('F', 1, 'Smooth, planar', CONTACT),
    one('G', 0.5, 'Slickensided, planar; lineation in the unfavourable direction', CONTACT),
    one('H', 1, 'Clay zone thick enough to prevent contact', NO_CONTACT),
    one('J', 1, 'Sandy, gravelly or crushed zone thick enough to prevent contact', NO_CONTACT),
  ],
};

const COATING = 'a. Wall contact, coatings only';
const THIN = 'b. Contact before 10 cm of shear, thin filling';
const THICK = 'c. No contact, thick filling';

/** Rows A to J, which the editions share. */
export const JA_CONTACT = [
  one('A', 0.75, 'Tightly healed, hard, impermeable filling', COATING),
  one('B', 1, 'Unaltered, staining only', COATING),
  one('C', 2, 'Slightly altered, non-softening coating', COATING),
  one('D', 3, 'Silty or sandy clay coating, small clay part', COATING),
  one('E', 4, 'Softening or low-friction clay mineral coating, to 1–2 mm', COATING),
  one('F', 4, 'Sandy particles, clay-free', THIN),
  one('G', 6, 'Strongly over-consolidated, non-softening clay, < 5 mm', THIN),
  one('H', 8, 'Medium or low over-consolidated, softening clay, < 5 mm', THIN),
  range('J', 8, 12, 'Swelling clay, < 5 mm', THIN),
];

/** Rows K to M, of crushed rock without contact. */
export const JA_CRUSHED = [
  one('K', 6, 'Disintegrated or crushed rock, strongly over-consolidated clay', THICK),
  one('L', 8, 'Disintegrated or crushed rock with clay, medium or low over-consolidated', THICK),
  range('M', 8, 12, 'Disintegrated or crushed rock with swelling clay', THICK),
];

export const JA_THICK = THICK;
export const JOINT_SOURCE = TRANSCRIBED;
