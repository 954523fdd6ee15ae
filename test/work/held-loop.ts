import { readFileSync } from 'node:fs';

/** CPU time of this thread, as Linux counts it; undefined: the system does not say. [ms] */
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
 * What no request is to hold the event loop longer. What is not divided takes several times as long: a form of 2 MB at once 400 ms, a list
 * of 20,000 rows read at once 200 ms. [ms]
 */
export const MOST_HELD_MS = 50;

/**
 * Measures how long the event loop is held up: between two ticks of a timer, the lesser of the time and of the CPU time of
 * its thread. A loaded machine lengthens the one and not the other; work that holds the loop up lengthens both.
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

  /** Longest since the last time it was asked. [ms] */
  async longest(): Promise<number> {
    await new Promise((resolve) => setTimeout(resolve, 10)); // the tick that follows
    const longest = this.longestMs;
    this.longestMs = 0;
    return longest;
  }

  /**
   * The least that a request holds it up in three times: the first time code is compiled, which Node does once, and the garbage of the tests
   * may be collected in any.
   * @returns what it was answered the first time, and that [ms]
   */
  async during<T>(send: () => Promise<T>): Promise<{ answer: T; heldMs: number }> {
    await this.longest(); // what was made before
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
