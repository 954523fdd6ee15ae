import { monitorEventLoopDelay } from 'node:perf_hooks';
import { Histogram, type Registry } from 'prom-client';

/** From unnoticeable to an apparently dead service; 50 ms is the most by which a request should delay others. [s] */
const BUCKETS_S = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30];

/** Sampling interval of the loop, which is part of each measured delay. [ms] */
const RESOLUTION_MS = 10;

const NANOSECONDS = 1e9;

/**
 * Observes, each second, the longest delay of the event loop in it: a single long delay stands out, where a mean or an overall
 * percentile would hide it.
 * @returns a function that stops it
 */
export const measureEventLoop = (registry: Registry): (() => void) => {
  const delays = new Histogram({
    name: 'event_loop_longest_delay_seconds',
    help: 'Longest delay of the event loop in each second',
    buckets: BUCKETS_S,
    registers: [registry],
  });
  const monitor = monitorEventLoopDelay({ resolution: RESOLUTION_MS });
  monitor.enable();
  const second = setInterval(() => {
    delays.observe(Math.max(0, monitor.max / NANOSECONDS - RESOLUTION_MS / 1000));
    monitor.reset();
  }, 1000);
  second.unref();
  return () => {
    clearInterval(second);
    monitor.disable();
  };
};
