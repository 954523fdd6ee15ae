import type { ProblemError } from '../../src/common/api/problem.js';
import { costOf } from '../../src/common/auth/heavy.js';
import {
  Admission,
  type Ask,
  type Clock,
  type Leave,
  sharesOf,
} from '../../src/common/database/admission.js';

/** Time passes only when the test advances it. */
class TestClock implements Clock {
  private time = 0;
  private timers: { at: number; call: () => void }[] = [];

  now = (): number => this.time;

  after = (ms: number, call: () => void): (() => void) => {
    const timer = { at: this.time + ms, call };
    this.timers.push(timer);
    return () => {
      this.timers = this.timers.filter((other) => other !== timer);
    };
  };

  pass(ms: number): void {
    this.time += ms;
    for (const timer of this.timers.filter(({ at }) => at <= this.time)) timer.call();
  }

  get running(): number {
    return this.timers.length;
  }
}

/** Lets pending promises settle. */
const settled = async (): Promise<void> => {
  for (let i = 0; i < 10; i += 1) await Promise.resolve();
};

const SHARES = {
  all: { total: 6, caller: 4, project: 5 },
  heavy: { total: 4, caller: 2, project: 3 },
};

let clock: TestClock;
let admission: Admission;
/** Who was admitted, in order, and how to end each. */
let order: string[];
let leaves: Map<string, Leave>;

beforeEach(() => {
  clock = new TestClock();
  admission = new Admission(SHARES, 1000, clock, {
    light: { total: 20, caller: 10 },
    heavy: { total: 8, caller: 5 },
  });
  order = [];
  leaves = new Map();
});

/** Work of a caller; its name is the caller with a number. */
const enter = (name: string, ask: Partial<Ask> = {}): Promise<void> =>
  admission.enter({ caller: name.replace(/\d+$/, ''), project: 'P', cost: 1, ...ask }).then((leave) => {
    order.push(name);
    leaves.set(name, leave);
  });

const refusalOf = (work: Promise<void>): Promise<ProblemError> =>
  work.then(
    () => Promise.reject(new Error('was let in')),
    (error: ProblemError) => error,
  );

const leave = async (name: string): Promise<void> => {
  leaves.get(name)?.();
  await settled();
};

describe('admission', () => {
  it('gives heavy work of one caller its share, and that of others the rest', async () => {
    for (const name of ['a1', 'a2', 'a3', 'a4', 'b1']) void enter(name, { project: name });
    await settled();
    expect(order).toEqual(['a1', 'a2', 'b1']);
    expect(admission.state.heavy).toEqual({ inUse: 3, waiting: 2, refused: 0 });
    await leave('a1');
    expect(order).toEqual(['a1', 'a2', 'b1', 'a3']);
  });

  it('serves the callers in turn, however many requests one sent before the others', async () => {
    for (const name of ['x1', 'y1', 'z1', 'w1']) void enter(name, { project: name }); // all places are taken
    for (const name of ['a1', 'a2', 'a3', 'a4', 'b1', 'b2', 'c1']) void enter(name, { project: name });
    await settled();
    for (const name of ['x1', 'y1', 'z1', 'w1', 'a1', 'b1', 'c1']) await leave(name);
    expect(order.slice(4, 9)).toEqual(['a1', 'b1', 'c1', 'a2', 'b2']);
  });

  it('limits a project to its share', async () => {
    for (const name of ['a1', 'b1', 'c1', 'd1']) void enter(name, { project: 'P' });
    void enter('e1', { project: 'Q' });
    await settled();
    expect(order).toEqual(['a1', 'b1', 'c1', 'e1']);
  });

  it('lets light work go on while heavy work waits', async () => {
    for (let i = 1; i <= 5; i += 1) void enter(`a${i}`);
    await settled();
    void enter('a9', { cost: 0 });
    void enter('b1', { cost: 0 });
    await settled();
    expect(order).toEqual(['a1', 'a2', 'a9', 'b1']);
    expect(admission.state.light).toEqual({ inUse: 2, waiting: 0, refused: 0 });
  });

  it('lets nobody overtake expensive work whose turn it is', async () => {
    for (const name of ['x1', 'y1', 'z1']) void enter(name, { project: name });
    void enter('a1', { cost: 2, project: 'A' }); // one place is free, but it needs two
    void enter('b1', { project: 'B' });
    await settled();
    expect(order).toEqual(['x1', 'y1', 'z1']);
    await leave('x1');
    expect(order).toEqual(['x1', 'y1', 'z1', 'a1']);
    await leave('y1');
    expect(order.at(-1)).toBe('b1');
  });

  it('uses all of a caller’s share for work that costs more', async () => {
    void enter('a1', { cost: 99 });
    void enter('a2');
    await settled();
    expect(order).toEqual(['a1']);
    await leave('a1');
    expect(order).toEqual(['a1', 'a2']);
  });

  it('refuses at once where too many of one caller wait, and says when to try again', async () => {
    void enter('a1');
    void enter('a2');
    await settled();
    clock.pass(900);
    for (let i = 3; i <= 7; i += 1) void enter(`a${i}`).catch(() => undefined);
    const { code, message, retryAfterS } = await refusalOf(enter('a8'));
    // five are waiting for the caller's two places, and this is the sixth: three turns of one second each, the initial estimate
    expect([code, retryAfterS]).toEqual(['unavailable', 3]);
    expect(message).toBe(
      'The service is busy: 5 heavy requests of this caller are waiting already. Nothing was read or written; try again after 3 s.',
    );
    void enter('b1');
    await settled();
    expect(order).toEqual(['a1', 'a2', 'b1']);
    expect(admission.state.heavy.refused).toBe(1);
  });

  it('derives Retry-After from the work that ended', async () => {
    for (let i = 1; i <= 10; i += 1) {
      void enter(`a${i}`);
      await settled();
      clock.pass(20_000);
      await leave(`a${i}`);
    }
    for (let i = 1; i <= 7; i += 1) void enter(`b${i}`).catch(() => undefined);
    const { retryAfterS = 0 } = await refusalOf(enter('b8'));
    expect(retryAfterS).toBeGreaterThan(30); // three turns of nearly 20 s, at most a minute
    expect(retryAfterS).toBeLessThanOrEqual(60);
  });

  it('refuses a caller that waited too long, and leaves no timer', async () => {
    void enter('a1', { cost: 2 });
    const waiting = refusalOf(enter('a2'));
    await settled();
    clock.pass(999);
    expect(admission.state.heavy.waiting).toBe(1);
    clock.pass(1);
    expect((await waiting).message).toMatch(
      /^The service is busy: too many heavy requests are under way, and no place came free within 1 s\./,
    );
    expect(admission.state.heavy).toEqual({ inUse: 1, waiting: 0, refused: 1 });
    expect(clock.running).toBe(0);
  });

  it('frees the place of a sender that disconnected, even of the one whom nobody overtakes', async () => {
    for (const name of ['x1', 'y1', 'z1']) void enter(name, { project: name });
    const sender = new AbortController();
    const gone = refusalOf(enter('a1', { cost: 2, project: 'A', gone: sender.signal }));
    void enter('b1', { project: 'B' });
    await settled();
    expect(order).not.toContain('b1');
    sender.abort();
    expect((await gone).code).toBe('unavailable');
    await settled();
    expect(order.at(-1)).toBe('b1');
    expect(admission.state.heavy.refused).toBe(0);
    await refusalOf(enter('a2', { gone: sender.signal }));
  });

  it('frees a place once, however often it is released', async () => {
    void enter('a1', { cost: 2 });
    await settled();
    await leave('a1');
    await leave('a1');
    expect(admission.state).toEqual({
      light: { inUse: 0, waiting: 0, refused: 0 },
      heavy: { inUse: 0, waiting: 0, refused: 0 },
    });
  });
});

describe('the shares of a pool', () => {
  it.each([1, 2, 3, 4, 5, 8, 10, 50, 100])('of %d fit within each other, and admit everybody', (poolSize) => {
    const { all, heavy } = sharesOf(poolSize);
    for (const { total, caller, project } of [all, heavy]) {
      expect(caller).toBeGreaterThanOrEqual(1);
      expect(caller).toBeLessThanOrEqual(project);
      expect(project).toBeLessThanOrEqual(total);
    }
    expect(heavy.total).toBeLessThanOrEqual(Math.max(1, poolSize / 2));
    expect(all.total).toBeLessThanOrEqual(Math.max(1, poolSize - 1));
  });

  it('leave others some of both from four connections on', () => {
    for (const poolSize of [4, 10, 50]) {
      const { all, heavy } = sharesOf(poolSize);
      expect(all.caller).toBeLessThan(all.total);
      expect(heavy.caller).toBeLessThan(heavy.total);
      expect(heavy.total).toBeLessThan(all.total);
    }
  });

  it('leave other projects some of both from eight connections on', () => {
    for (const poolSize of [8, 10, 50]) {
      const { all, heavy } = sharesOf(poolSize);
      expect(all.project).toBeLessThan(all.total);
      expect(heavy.project).toBeLessThan(heavy.total);
    }
  });
});

describe('the cost of work', () => {
  it.each([
    ['light', { isHeavy: false, isAsOf: false, driveLengthM: 20_000 }, 0],
    ['light as of a moment', { isHeavy: false, isAsOf: true, driveLengthM: 0 }, 1],
    ['heavy of a short drive', { isHeavy: true, isAsOf: false, driveLengthM: 1000 }, 1],
    ['heavy of a short drive as of a moment', { isHeavy: true, isAsOf: true, driveLengthM: 1000 }, 2],
    ['20 km', { isHeavy: true, isAsOf: false, driveLengthM: 20_000 }, 2],
    ['20 km by the metre', { isHeavy: true, isAsOf: false, driveLengthM: 20_000, lengthM: '1' }, 11],
    ['20 km by 100 m', { isHeavy: true, isAsOf: false, driveLengthM: 20_000, lengthM: 100 }, 1],
    ['an invalid length', { isHeavy: true, isAsOf: false, driveLengthM: 1000, lengthM: 'x' }, 1],
    ['a length below nothing', { isHeavy: true, isAsOf: false, driveLengthM: 1000, lengthM: '-1' }, 1],
  ])('%s', (_what, expected, cost) => {
    expect(costOf(expected)).toBe(cost);
  });
});
