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

  end(): void {
    clearInterval(this.timer);
  }
}
