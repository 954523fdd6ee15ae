import type { ClassDecisionInput } from '../features/ground/classes/class-decision.models.js';
import type { GroundLogInput } from '../features/ground/ground-logs/ground-log.models.js';
import type { Person } from './people.js';
import { chainageAt } from './site.js';

// How the parties map the ground around the invented fault, and what they decide.

export const LOGGED = { from: chainageAt(188_000), to: chainageAt(196_000) };

/** A place within the fault. */
export const LOGGED_AT = chainageAt(192_000);

const HARDER = {
  q: {
    edition: 'q-2013.2',
    location: 'normal',
    jn: { row: 'G' },
    jr: { row: 'F' },
    ja: { row: 'E' },
    jw: { row: 'B' },
    srf: { row: 'E' },
  },
  rmr: {
    edition: 'rmr-1989.2',
    strengthBy: 'ucs',
    condition: 'slickensided_or_open',
    groundwaterBy: 'state',
    orientation: 'unfavourable',
  },
} satisfies Pick<GroundLogInput, 'q' | 'rmr'>;

interface DemoLog {
  name: string;
  by: Person;
  input: GroundLogInput;
}

const log = (name: string, by: Person, more: Partial<GroundLogInput>): DemoLog => ({
  name,
  by,
  input: {
    ...LOGGED,
    mappedBy: by,
    mappedAt: '2021-03-25T08:00:00+01:00',
    lithology: 'crushed schist',
    ucsMpa: 35,
    jointSpacingM: 0.1,
    waterState: 'dripping',
    ...HARDER,
    ...more,
  },
});

/** Contractor and supervisor map the same face and find different classes; the contractor also maps a wall. */
export const GROUND_LOGS: DemoLog[] = [
  log('GL-01', 'carla', { mappedFor: 'contractor', mappedPlace: 'face', rqdPercent: 20, gsi: '24' }),
  log('GL-02', 'elena', {
    mappedFor: 'supervisor',
    mappedPlace: 'face',
    rqdPercent: 40,
    jointSpacingM: 0.25,
    waterState: 'wet',
    q: { ...HARDER.q, jn: { row: 'F' }, ja: { row: 'C' } },
    rmr: { ...HARDER.rmr, condition: 'highly_weathered', orientation: 'fair' },
    gsi: '33',
  }),
  log('GL-03', 'carla', { mappedFor: 'contractor', mappedPlace: 'left_wall', rqdPercent: 30, gsi: '28' }),
];

/** The log that both parties agree to let govern at the face. */
export const GOVERNING_LOG = {
  name: 'GL-02',
  proposedBy: 'elena',
  agreedBy: 'bruno',
  reason: 'mapped after the face was scaled and washed',
} as const satisfies { name: string; proposedBy: Person; agreedBy: Person; reason: string };

interface DemoDecision {
  number: number;
  by: Person;
  input: ClassDecisionInput;
}

const SPEAKERS = {
  contractorRepresentative: 'bruno',
  employerRepresentative: 'dario',
};

/** 1 is agreed at once. 2 is disputed, held apart in valuation 1, and agreed before valuation 2. 3 stays proposed. */
export const DECISIONS: DemoDecision[] = [
  {
    number: 1,
    by: 'bruno',
    input: { ...SPEAKERS, from: chainageAt(186_420), to: chainageAt(202_780), groundClass: 'D' },
  },
  {
    number: 2,
    by: 'bruno',
    input: {
      ...SPEAKERS,
      from: chainageAt(202_780),
      to: chainageAt(210_000),
      groundClass: 'D',
      remark: 'noted as C, supported as in the fault',
    },
  },
  {
    number: 3,
    by: 'elena',
    input: {
      ...SPEAKERS,
      from: chainageAt(234_350),
      to: chainageAt(241_150),
      groundClass: 'B',
      remark: 'noted as C; the supervisor sees B',
    },
  },
];

export const DISPUTE = {
  number: 2,
  by: 'dario',
  reason: 'the crushed rock ends at 3+217; what follows is C',
} as const satisfies { number: number; by: Person; reason: string };
