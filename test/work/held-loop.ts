/**
 * Measures how long the event loop is held up: between two ticks of a timer, the lesser of the time and of the CPU time of
 * the process. A loaded machine lengthens the one, other threads the other; work that holds the loop up lengthens both.
 */
export class HeldLoop {
  private longestMs = 0;
  private readonly timer: NodeJS.Timeout;

  constructor() {
    let [at, cpu] = [performance.now(), process.cpuUsage()];
    this.timer = setInterval(() => {
      const { user, system } = process.cpuUsage(cpu);
      this.longestMs = Math.max(this.longestMs, Math.min(performance.now() - at, (user + system) / 1000));
      [at, cpu] = [performance.now(), process.cpuUsage()];
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
