import type {
  ShiftActivity,
  ShiftBoring,
  ShiftDocument,
} from '../features/driving/shifts/shift-document.model.js';
import { localText, MINUTE } from './clock.js';
import { BORES_TO_THE_END, EVENTS, type StopEvent } from './events.js';
import { BORING_HABITS, groundClassAt } from './ground.js';
import { drillRound, holesWanted, noProbing, type Probing, probingDue } from './probing.js';
import type { Sequence } from './sequence.js';
import { type ActivityName, chainageAt } from './site.js';

const FULL_STROKE_MM = 1700;
/** Muck per advance: a face of 40.7 m² and 2.7 t/m³. [kg/mm] */
const MUCK_KG_PER_MM = 110;
/** No stroke or part of one is begun for a shorter time. [min] */
const SHORTEST_BORING = 8;

interface OpenStroke {
  leftMm: number;
  leftMinutes: number;
}

/** State of the drive between two shifts. */
export interface DriveState {
  faceMm: number;
  stroke: number;
  open: OpenStroke | undefined;
  probing: Probing;
}

export const atTheStart = (): DriveState => ({
  faceMm: 0,
  stroke: 0,
  open: undefined,
  probing: noProbing(),
});

/** One crew during one shift: every minute is booked as it passes, so the sheet has no gap. */
export class Crew {
  readonly strokes: ShiftDocument['strokes'] = [];
  readonly activities: ShiftActivity[] = [];
  private readonly events: StopEvent[];
  private readonly boresToTheEnd: boolean;
  private at: number;

  constructor(
    private readonly state: DriveState,
    private readonly next: Sequence,
    private readonly startsAt: number,
    private readonly endsAt: number,
    private readonly key: string,
  ) {
    this.at = startsAt;
    this.events = [...(EVENTS[key] ?? [])];
    this.boresToTheEnd = BORES_TO_THE_END.has(key);
  }

  work(): void {
    this.book('CREW', this.next(15, 25));
    if (this.key.endsWith('day')) this.book('MAINTENANCE', this.next(145, 185));
    else this.book('EXTENSION', this.next(25, 45));
    while (this.left() > 0 && this.step());
    if (this.left() > 0) this.book('EXTENSION', this.left(), { remark: 'no time left for a stroke' });
  }

  /** @returns false when the rest of the shift is too short for the next step */
  private step(): boolean {
    if (this.eventDue()) this.stop();
    const { state } = this;
    if (!state.open) {
      if (probingDue(state.probing, state.faceMm)) return this.probe();
      if (!this.beginStroke()) return false;
    }
    this.bore();
    if (!state.open) this.afterStroke();
    return true;
  }

  private left(): number {
    return (this.endsAt - this.at) / MINUTE;
  }

  private book(code: ActivityName, minutes: number, more: Partial<ShiftActivity> = {}): void {
    const lasting = Math.min(minutes, this.left());
    if (lasting <= 0) return;
    const startedAt = this.at;
    this.at += lasting * MINUTE;
    this.activities.push({
      startedAt: localText(startedAt),
      endedAt: localText(this.at),
      code,
      responsibleParty: 'contractor', // unless an event names another
      ...more,
    });
  }

  private minutesToEvent(): number {
    const [event] = this.events;
    return event ? (this.startsAt - this.at) / MINUTE + event.afterMinutes : Infinity;
  }

  private eventDue(): boolean {
    return this.minutesToEvent() <= 0;
  }

  private stop(): void {
    const event = this.events.shift();
    if (!event) return;
    const { code, minutes, responsibleParty, equipment, remark } = event;
    this.book(code, minutes, {
      ...(responsibleParty ? { responsibleParty } : {}),
      ...(equipment ? { equipment } : {}),
      remark,
    });
  }

  private probe(): boolean {
    const { probing, faceMm } = this.state;
    const minutes = 70 + 40 * holesWanted(probing, faceMm);
    if (this.left() < minutes) return false;
    this.book('PROBING', minutes);
    drillRound(probing, faceMm, this.at);
    return true;
  }

  private beginStroke(): boolean {
    const { state } = this;
    const { penetration, rotationRpm } = BORING_HABITS[groundClassAt(state.faceMm)];
    const lengthMm = FULL_STROKE_MM - this.next(0, 31);
    const leftMinutes = Math.round((10 * lengthMm) / (this.next(...penetration) * rotationRpm));
    const least = this.boresToTheEnd ? SHORTEST_BORING : leftMinutes;
    if (this.left() < least) return false;
    state.stroke += 1;
    state.open = { leftMm: lengthMm, leftMinutes };
    return true;
  }

  /** Bores until the stroke ends, the shift ends or something stops it. */
  private bore(): void {
    const { open } = this.state;
    if (!open) return;
    const untilEvent = Math.max(SHORTEST_BORING, this.minutesToEvent());
    const minutes = Math.min(open.leftMinutes, this.left(), untilEvent);
    const mm =
      minutes === open.leftMinutes ? open.leftMm : Math.round((open.leftMm * minutes) / open.leftMinutes);
    this.record(mm, minutes);
    open.leftMm -= mm;
    open.leftMinutes -= minutes;
    if (open.leftMinutes === 0) this.state.open = undefined;
  }

  private record(mm: number, minutes: number): void {
    const { state, next } = this;
    const { rotationRpm, thrustKn, torqueKnm } = BORING_HABITS[groundClassAt(state.faceMm)];
    const startedAt = this.at;
    this.book('BORING', minutes);
    const boring: ShiftBoring = {
      from: chainageAt(state.faceMm),
      to: chainageAt(state.faceMm + mm),
      startedAt: localText(startedAt),
      endedAt: localText(this.at),
      thrustKn: next(...thrustKn),
      torqueKnm: next(...torqueKnm),
      rotationRpm,
      penetrationMmPerRev: Math.round((100 * mm) / (minutes * rotationRpm)) / 100,
      gripperPressureBar: next(265, 295),
      muckMassT: ((mm * MUCK_KG_PER_MM + next(-2500, 2500)) / 1000).toFixed(1),
    };
    state.faceMm += mm;
    const standing = this.strokes.find(({ number }) => number === state.stroke);
    if (standing) standing.borings.push(boring);
    else this.strokes.push({ number: state.stroke, borings: [boring] });
  }

  private afterStroke(): void {
    const { state, next } = this;
    const { supportMinutes } = BORING_HABITS[groundClassAt(state.faceMm)];
    this.book('REGRIP', next(5, 8));
    this.book('SUPPORT', next(...supportMinutes));
    if (state.stroke % 4 === 0) this.book('EXTENSION', next(18, 30));
    if (next(1, 5) === 1) this.book('WAITING', next(6, 18), { remark: 'muck train' });
  }
}
