import { Injectable } from '@nestjs/common';
import { Counter, Gauge, Registry } from 'prom-client';

/** A value for each set of labels. */
export type Values = [labels: Record<string, string>, value: number][];

type Read = () => Values | Promise<Values>;

/** Registry in which each part of the service registers its metrics; read by the metrics server, if configured. */
@Injectable()
export class Measures {
  /** Separate for this application: prom-client's default registry is shared by all applications in a process. */
  readonly registry = new Registry();

  /** A value computed when the metrics are read. Without a value the line is left out. */
  gauge(name: string, help: string, labelNames: string[], read: Read): void {
    new Gauge({
      name,
      help,
      labelNames,
      registers: [this.registry],
      async collect() {
        const values = await read();
        this.reset();
        for (const [labels, value] of values) this.set(labels, value);
      },
    });
  }

  /** A monotonic counter kept elsewhere, read with the metrics. */
  counter(name: string, help: string, labelNames: string[], read: () => Values): void {
    new Counter({
      name,
      help,
      labelNames,
      registers: [this.registry],
      collect() {
        const values = read();
        this.reset();
        for (const [labels, value] of values) this.inc(labels, value);
      },
    });
  }
}
