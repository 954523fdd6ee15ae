import { Injectable } from '@nestjs/common';
import { Counter, Gauge, Registry } from 'prom-client';

/** A value for each set of labels. */
export type Values = [labels: Record<string, string>, value: number][];

type Read = () => Values | Promise<Values>;

/** Where each part of the service registers what it measures; read by the metrics server, where one is set. */
@Injectable()
export class Measures {
  /** Of this application: prom-client's own would be shared by all applications of a process. */
  readonly registry = new Registry();

  /** A figure that is read when the metrics are. Without a value there is no line. */
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

  /** A count that only grows, kept elsewhere and read when the metrics are. */
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
