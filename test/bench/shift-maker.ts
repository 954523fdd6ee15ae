/** Shift documents for a drive that grows by whole strokes: every minute booked, every metre bored. */

export const START_MM = 1_000_000;

const FIRST_DAY = Date.UTC(2020, 0, 6);
const DAY_SHIFT_STARTS_MS = 5 * 3_600_000; // 06:00 or 07:00 local
const SHIFT_MS = 12 * 3_600_000;
const OTHER_MS = 10 * 60_000;
const OTHERS = ['MAINT', 'CUTTER', 'BELT', 'ROCK', 'WAIT'];
const ITEMS = ['BOLT', 'MESH', 'RIB', 'SPRAY'] as const;

export interface Piece {
  stroke: number;
  fromMm: number;
  toMm: number;
}

export interface ShiftSize {
  activities: number;
  support: number;
  ground: number;
}

/** A shift as the API takes it. */
export interface ShiftBody {
  state: 'submitted';
  startsAt: string;
  endsAt: string;
  crewLead: string;
  strokes: { number: number; borings: BoringBody[] }[];
  activities: { startedAt: string; endedAt: string; code: string; remark?: string }[];
  support: SupportBody[];
  ground: { from: string; to: string; groundClass: string; lithology: string }[];
}

export interface BoringBody {
  from: string;
  to: string;
  startedAt: string;
  endedAt: string;
  thrustKn: number;
  torqueKnm: number;
  rotationRpm: number;
  penetrationMmPerRev: number;
  gripperPressureBar: number;
  muckMassT: string;
}

export interface SupportBody {
  item: string;
  zone: string;
  from: string;
  to?: string;
  quantity: string;
  arcFromDeg?: string;
  arcToDeg?: string;
  thicknessMm?: string;
  installedAt: string;
}

export interface MadeShift {
  date: string;
  shift: 'day' | 'night';
  body: ShiftBody;
}

const instant = (ms: number): string => new Date(ms).toISOString();

const chainage = (drivenMm: number): string => {
  const mm = START_MM + drivenMm;
  return `${Math.floor(mm / 1_000_000)}+${((mm % 1_000_000) / 1000).toFixed(3).padStart(7, '0')}`;
};

/** A number in [low, high) that depends only on the seed. */
const between = (low: number, high: number, seed: number): number =>
  low + (high - low) * (((Math.sin(seed * 12.9898) * 43_758.5453) % 1) + 1) * 0.5;

const boring = ({ fromMm, toMm }: Piece, startedAt: number, endedAt: number): BoringBody => ({
  from: chainage(fromMm),
  to: chainage(toMm),
  startedAt: instant(startedAt),
  endedAt: instant(endedAt),
  thrustKn: Math.round(between(8000, 14_000, fromMm)),
  torqueKnm: Math.round(between(1500, 3000, fromMm + 1)),
  rotationRpm: Number(between(4, 7, fromMm + 2).toFixed(2)),
  penetrationMmPerRev: Number(between(4, 12, fromMm + 3).toFixed(2)),
  gripperPressureBar: Math.round(between(200, 300, fromMm + 4)),
  muckMassT: between(150, 250, fromMm + 5).toFixed(3),
});

const support = (line: number, fromMm: number, toMm: number, startsAt: number): SupportBody => {
  const item = ITEMS[line % ITEMS.length] ?? 'BOLT';
  const placeMm = fromMm + Math.floor(((toMm - fromMm) * (line % 10)) / 10);
  const row = { item, zone: line % 3 === 0 ? 'L2' : 'L1', from: chainage(placeMm) };
  const installedAt = instant(startsAt + line * 60_000);
  const along = { to: chainage(Math.min(placeMm + 1500, toMm)), installedAt };
  switch (item) {
    case 'BOLT':
      return { ...row, quantity: '3', arcFromDeg: '300', arcToDeg: '60', installedAt };
    case 'RIB':
      return { ...row, quantity: '1', installedAt };
    case 'MESH':
      return { ...row, ...along, quantity: between(5, 20, line).toFixed(3) };
    case 'SPRAY':
      return { ...row, ...along, quantity: between(1, 4, line).toFixed(3), thicknessMm: '80' };
  }
};

/** The shift with that number, counted from the drive's first, in which the pieces were bored. */
export const makeShift = (index: number, pieces: Piece[], size: ShiftSize): MadeShift => {
  const startsAt = FIRST_DAY + DAY_SHIFT_STARTS_MS + index * SHIFT_MS;
  const endsAt = startsAt + SHIFT_MS;
  const fromMm = pieces[0]?.fromMm ?? 0;
  const toMm = pieces.at(-1)?.toMm ?? 0;
  const others = size.activities - 2 * pieces.length;
  const boringFrom = startsAt + others * OTHER_MS;
  const slotMs = Math.floor((endsAt - boringFrom) / pieces.length / 60_000) * 60_000;
  const boringMs = Math.floor((slotMs * 0.6) / 60_000) * 60_000;
  const activities = Array.from({ length: others }, (_, at) => ({
    startedAt: instant(startsAt + at * OTHER_MS),
    endedAt: instant(startsAt + (at + 1) * OTHER_MS),
    code: OTHERS[at % OTHERS.length] ?? 'WAIT',
    remark: 'as planned',
  }));
  const strokes = pieces.map((piece, at) => {
    const startedAt = boringFrom + at * slotMs;
    const endedAt = startedAt + boringMs;
    const gripped = at === pieces.length - 1 ? endsAt : startedAt + slotMs;
    activities.push(
      { startedAt: instant(startedAt), endedAt: instant(endedAt), code: 'BORE', remark: 'boring' },
      { startedAt: instant(endedAt), endedAt: instant(gripped), code: 'REGRIP', remark: 'regripping' },
    );
    return { number: piece.stroke, borings: [boring(piece, startedAt, endedAt)] };
  });
  const cut = (part: number): number => fromMm + Math.floor(((toMm - fromMm) * part) / size.ground);
  return {
    date: instant(startsAt).slice(0, 10),
    shift: index % 2 === 0 ? 'day' : 'night',
    body: {
      state: 'submitted',
      startsAt: instant(startsAt),
      endsAt: instant(endsAt),
      crewLead: 'A. Keller',
      strokes,
      activities,
      support: Array.from({ length: size.support }, (_, line) => support(line, fromMm, toMm, startsAt)),
      ground: Array.from({ length: size.ground }, (_, part) => ({
        from: chainage(cut(part)),
        to: chainage(cut(part + 1)),
        groundClass: part % 2 === 0 ? 'G1' : 'G2',
        lithology: 'gneiss',
      })),
    },
  };
};

/** The face of a drive: each call bores the next shift of eight strokes. */
export class Face {
  constructor(
    private index: number,
    private stroke: number,
    private mm: number,
  ) {}

  next(): MadeShift {
    const pieces = Array.from({ length: 8 }, (_, at) => ({
      stroke: this.stroke + at + 1,
      fromMm: this.mm + at * 1500,
      toMm: this.mm + (at + 1) * 1500,
    }));
    const made = makeShift(this.index, pieces, { activities: 20, support: 60, ground: 2 });
    this.index += 1;
    this.stroke += pieces.length;
    this.mm += pieces.length * 1500;
    return made;
  }
}
