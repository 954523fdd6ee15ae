import { FORM, D, onVersion, P, post, put, type Step } from './step.js';

const AT = '2027-03-01T08:00:00Z';

/** The attached note. */
export const NOTE = 'a note';
/** Its SHA-256. */
export const DIGEST = 'f63e34a034f19a24438f2d74b242bc96682abd843ecc4ea63fefed4006d860a3';

const JOINT = { chainage: '1+201', type: 'joint', dipDeg: '60', dipDirectionDeg: '120' };
const GOVERNING = `${D}/ground-logs/{name}`;
const HOLD = `${D}/hold-points/{code}`;
const DECISION = `${D}/class-decisions/{number}`;
const REASON = { reason: 'Mapped by both sides at the face' };

/** Observations of the ground, and the decisions of both sides on them. */
export const GROUND: Step[] = [
  post('engineer', `${D}/attachments`, {}, { caption: 'A note', from: '1+200', file: NOTE }, FORM),
  put('engineer', `${D}/attachments/{digest}`, { digest: DIGEST }, { caption: 'A note of the face' }),
  put('engineer', `${D}/discontinuities/{name}`, { name: 'J1' }, JOINT),
  post('engineer', `${D}/discontinuities`, {}, { discontinuities: [{ name: 'J2', ...JOINT }] }),
  put(
    'engineer',
    `${D}/overbreak/{name}`,
    { name: 'O1' },
    { from: '1+200', to: '1+201', cause: 'geological', volumeM3: '1' },
  ),
  put('engineer', GOVERNING, { name: 'G1' }, { from: '1+200', to: '1+201', mappedBy: 'Gerda', mappedAt: AT }),
  post('engineer', `${GOVERNING}/propose-as-governing`, { name: 'G1' }, REASON),
  post('supervisor', `${GOVERNING}/agree-as-governing`, { name: 'G1' }),
  post(
    'supervisor',
    `${GOVERNING}/withdraw-as-governing`,
    { name: 'G1' },
    { reason: 'Another log replaces it' },
  ),
  put('engineer', DECISION, { number: '1' }, { from: '1+200', to: '1+201', groundClass: 'A' }),
  onVersion(post('supervisor', `${DECISION}/dispute`, { number: '1' }, { reason: 'The wall was not seen' })),
  onVersion(
    post(
      'supervisor',
      `${DECISION}/agree`,
      { number: '1' },
      { contractorRepresentative: 'Conrad', employerRepresentative: 'Ruth' },
    ),
  ),
  onVersion(
    post('supervisor', `${DECISION}/withdraw`, { number: '1' }, { reason: 'Superseded after scaling' }),
  ),
  put(
    'owner',
    `${D}/design-sections/{name}`,
    { name: 'DS1' },
    {
      edition: '1',
      from: '1+300',
      to: '1+400',
      items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2' }],
    },
  ),
  put(
    'owner',
    `${D}/probe-requirements`,
    {},
    {
      requirements: [
        { name: 'USUAL', holeCount: 1, sectors: [{ fromDeg: '330', toDeg: '30' }], overlapM: '8' },
        { name: 'FAULT', from: '1+400', to: '1+450', holeCount: 3, overlapM: '10', leastLengthM: '20' },
      ],
    },
  ),
  put('owner', `${D}/support-limits`, {}, { limits: [{ zone: 'L1', limitM: '10' }] }),
  put(
    'engineer',
    `${D}/notices/{code}`,
    { code: 'N1' },
    { rule: 'CLAIM', happenedAt: AT, concerns: 'Water at the face' },
  ),
  post(
    'poster',
    `${P}/alerts/{number}/acknowledge`,
    { number: '1' },
    { reason: 'Probe hole is being drilled' },
  ),
  put(
    'engineer',
    HOLD,
    { code: 'HP1' },
    { chainage: '1+400', reason: 'Fault zone expected', side: 'client', role: 'Site geologist' },
  ),
  post('supervisor', `${HOLD}/release`, { code: 'HP1' }, { evidence: 'Cored hole K3, log of the same day' }),
  post(
    'supervisor',
    `${HOLD}/withdraw-release`,
    { code: 'HP1' },
    { reason: 'The hole ended short of the zone' },
  ),
];
