import { ProblemError } from '../api/problem.js';
import { RoundRobin, type Verdict } from './round-robin.js';

/** Limits on work in progress: in total, per caller and per project. */
export interface Share {
  total: number;
  caller: number;
  project: number;
}

/** Limits on connections lent at a time, and on the cost of the heavy work among them. */
export interface Shares {
  all: Share;
  heavy: Share;
}

/** How many requests may wait. */
export interface Room {
  total: number;
  caller: number;
}

const atLeastOne = (number: number): number => Math.max(1, Math.floor(number));

/** A project gets at most three quarters, but always leaves room for a second caller. */
const shareOf = (total: number, caller: number): Share => ({
  total,
  caller,
  project: Math.min(total, Math.max(caller + 1, Math.ceil((total * 3) / 4))),
});

/**
 * The shares of a pool. One connection is reserved for queries without a scope (authentication and access); heavy work gets at
 * most half of the pool. A caller gets about half of each share; its light work is admitted beside its heavy work.
 */
export const sharesOf = (poolSize: number): Shares => {
  const total = atLeastOne(poolSize - 1);
  const heavyTotal = atLeastOne(poolSize / 2);
  const heavyCaller = atLeastOne(heavyTotal / 2);
  const caller = Math.min(total, Math.max(heavyCaller + 1, Math.ceil(total / 2)));
  return { all: shareOf(total, caller), heavy: shareOf(heavyTotal, heavyCaller) };
};

/** A light reading waits for milliseconds, a heavy one for seconds: any more of them would only wait to be refused. */
const ROOM: Record<WorkClass, Room> = {
  light: { total: 4000, caller: 1000 },
  heavy: { total: 256, caller: 64 },
};

export type WorkClass = 'light' | 'heavy';

/** A request for a connection. */
export interface Ask {
  caller: string;
  project: string;
  /** 0: light; otherwise the number of places of the heavy share that it takes. */
  cost: number;
  /** Aborted when nobody is waiting for the answer any more. */
  gone?: AbortSignal;
}

/** The clock; tests pass their own. */
export interface Clock {
  now(): number;
  /** @returns a function that cancels the call */
  after(ms: number, call: () => void): () => void;
}

const CLOCK: Clock = {
  now: () => performance.now(),
  after: (ms, call) => {
    const timer = setTimeout(call, ms);
    return () => clearTimeout(timer);
  },
};

/** Ends the work and releases its places. */
export type Leave = () => void;

interface Waiting extends Ask {
  enter(leave: Leave): void;
  cost: number;
}

/** Counts work in progress. */
class InUse {
  total = 0;
  private readonly by = new Map<string, number>();

  constructor(private readonly share: Share) {}

  add({ caller, project }: Ask, number: number): void {
    this.total += number;
    for (const key of [`caller ${caller}`, `project ${project}`]) {
      const sum = (this.by.get(key) ?? 0) + number;
      if (sum === 0) this.by.delete(key);
      else this.by.set(key, sum);
    }
  }

  verdict({ caller, project }: Ask, number: number): Verdict {
    const own = (key: string, limit: number): boolean => (this.by.get(key) ?? 0) + number > limit;
    if (own(`caller ${caller}`, this.share.caller) || own(`project ${project}`, this.share.project))
      return 'own share used';
    return this.total + number > this.share.total ? 'no room' : 'goes';
  }
}

const MIN_WAIT_S = 1;
const MAX_WAIT_S = 60;
/** Weight of the newest duration in the running mean. */
const NEWEST = 0.2;

/**
 * Decides who gets a connection of the pool, and when. Callers take turns; heavy work has its own share, so that light readings
 * and writes continue however much of it is requested. Requests that would wait too long are refused with a Retry-After.
 */
export class Admission {
  private readonly all: InUse;
  private readonly heavy: InUse;
  private readonly queues = { light: new RoundRobin<Waiting>(), heavy: new RoundRobin<Waiting>() };
  /** Mean durations of finished work. [ms] */
  private readonly meanMs = { light: 10, heavy: 1000 };
  private readonly underWay = { light: 0, heavy: 0 };
  private readonly refusals = { light: 0, heavy: 0 };
  /** The queue to serve first: the two alternate. */
  private first: WorkClass = 'light';

  constructor(
    private readonly shares: Shares,
    private readonly maxWaitMs: number,
    private readonly clock = CLOCK,
    private readonly room = ROOM,
  ) {
    this.all = new InUse(shares.all);
    this.heavy = new InUse(shares.heavy);
  }

  get state(): Record<WorkClass, { inUse: number; waiting: number; refused: number }> {
    const { underWay, queues, refusals } = this;
    const of = (name: WorkClass) => ({
      inUse: underWay[name],
      waiting: queues[name].length,
      refused: refusals[name],
    });
    return { light: of('light'), heavy: of('heavy') };
  }

  /** Waits for a place. @throws ProblemError unavailable when too many are waiting, or none becomes free in time */
  async enter(ask: Ask): Promise<Leave> {
    const { caller, gone } = ask;
    const name = classOf(ask);
    const queue = this.queues[name];
    if (gone?.aborted) throw hasGone();
    const room = this.room[name];
    if (queue.lengthOf(caller) >= room.caller)
      throw this.refuse(ask, `${room.caller} ${WORDS[name]} of this caller are waiting already`);
    if (queue.length >= room.total)
      throw this.refuse(ask, `${room.total} ${WORDS[name]} are waiting already`);
    const cost = Math.min(ask.cost, this.shares.heavy.caller); // work that costs more than a caller's share takes the whole share
    const work = { ...ask, cost };
    if (queue.length === 0 && this.verdictOf(work) === 'goes') return this.begin(work);
    return new Promise((resolve, reject) => {
      const waiting: Waiting = {
        ...work,
        enter: (leave) => {
          settle();
          resolve(leave);
        },
      };
      const giveUp = (why: () => Error): void => {
        queue.remove(caller, waiting);
        settle();
        reject(why());
        this.dispatch(); // others may have been waiting behind this one
      };
      const leaveQueue = (): void => giveUp(hasGone);
      const cancelTimer = this.clock.after(this.maxWaitMs, () =>
        giveUp(() =>
          this.refuse(
            ask,
            `too many ${WORDS[name]} are under way, and no place came free within ${this.maxWaitMs / 1000} s`,
          ),
        ),
      );
      const settle = (): void => {
        cancelTimer();
        gone?.removeEventListener('abort', leaveQueue);
      };
      gone?.addEventListener('abort', leaveQueue, { once: true });
      queue.push(caller, waiting);
      this.dispatch();
    });
  }

  /** Admits as many as there is room for. */
  private dispatch(): void {
    for (;;) {
      const other: WorkClass = this.first === 'light' ? 'heavy' : 'light';
      const next = this.takeFrom(this.first) ?? this.takeFrom(other);
      if (!next) return;
      next.enter(this.begin(next));
    }
  }

  private takeFrom(name: WorkClass): Waiting | undefined {
    return this.queues[name].take((waiting) => this.verdictOf(waiting));
  }

  private verdictOf(work: Ask): Verdict {
    const verdict = this.all.verdict(work, 1);
    return verdict === 'goes' && classOf(work) === 'heavy' ? this.heavy.verdict(work, work.cost) : verdict;
  }

  private begin(work: Ask): Leave {
    const name = classOf(work);
    this.first = name === 'light' ? 'heavy' : 'light';
    const since = this.clock.now();
    const count = (sign: 1 | -1): void => {
      this.all.add(work, sign);
      this.heavy.add(work, sign * work.cost);
      this.underWay[name] += sign;
    };
    count(1);
    let left = false;
    return () => {
      if (left) return;
      left = true;
      count(-1);
      this.meanMs[name] += (this.clock.now() - since - this.meanMs[name]) * NEWEST;
      this.dispatch();
    };
  }

  private refuse(ask: Ask, why: string): ProblemError {
    const name = classOf(ask);
    this.refusals[name] += 1;
    const share = name === 'heavy' ? this.shares.heavy : this.shares.all;
    const turns = Math.max(
      (this.queues[name].lengthOf(ask.caller) + 1) / share.caller,
      (this.queues[name].length + 1) / share.total,
    );
    const seconds = Math.ceil((turns * this.meanMs[name]) / 1000);
    const retryAfterS = Math.min(MAX_WAIT_S, Math.max(MIN_WAIT_S, seconds));
    const detail = `The service is busy: ${why}. Nothing was read or written; try again after ${retryAfterS} s.`;
    return new ProblemError('unavailable', detail, [], retryAfterS);
  }
}

const WORDS: Record<WorkClass, string> = { light: 'requests', heavy: 'heavy requests' };

const classOf = ({ cost }: Ask): WorkClass => (cost > 0 ? 'heavy' : 'light');

export const hasGone = (): ProblemError =>
  new ProblemError('unavailable', 'The request was cancelled: its sender closed the connection.');
