import { readFileSync } from 'node:fs';

/** CPU time of this thread, by Linux; undefined where the system does not report it. [ms] */
const threadCpu = (): number | undefined => {
  try {
    return Number(readFileSync(`/proc/self/task/${process.pid}/schedstat`, 'utf8').split(' ')[0]) / 1e6;
  } catch {
    return undefined;
  }
};

/** CPU time of all threads. [ms] */
const processCpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

const cpu = (): number => threadCpu() ?? processCpu();

/**
 * Longest time for which a request may block the event loop. Undivided work takes several times as long: a form of 2 MB at once 400 ms, a list
 * of 20,000 rows read at once 200 ms. [ms]
 */
export const MOST_HELD_MS = 50;

/**
 * Measures how long the event loop is blocked: between two ticks of a timer, the lesser of elapsed time and the CPU time of its thread. A
 * loaded machine lengthens only the former; work that blocks the loop lengthens both.
 */
export class HeldLoop {
  private longestMs = 0;
  private readonly timer: NodeJS.Timeout;

  constructor() {
    let [at, used] = [performance.now(), cpu()];
    this.timer = setInterval(() => {
      const [now, usedNow] = [performance.now(), cpu()];
      this.longestMs = Math.max(this.longestMs, Math.min(now - at, usedNow - used));
      [at, used] = [now, usedNow];
    }, 2);
  }

  /** Longest block since the last call. [ms] */
  async longest(): Promise<number> {
    await new Promise((resolve) => setTimeout(resolve, 10)); // the following tick
    const longest = this.longestMs;
    this.longestMs = 0;
    return longest;
  }

  /**
   * The least time for which a request blocks the loop in three attempts: at the first, code is compiled, which Node does once, and garbage of
   * the tests may be collected during any.
   * @returns the first answer, and that time [ms]
   */
  async during<T>(send: () => Promise<T>): Promise<{ answer: T; heldMs: number }> {
    await this.longest(); // discards earlier blocks
    const answer = await send();
    let heldMs = await this.longest();
    for (let again = 0; again < 2 && heldMs > MOST_HELD_MS; again += 1) {
      await send();
      heldMs = Math.min(heldMs, await this.longest());
    }
    return { answer, heldMs };
  }

  end(): void {
    clearInterval(this.timer);
  }
}
