import { Injectable } from '@nestjs/common';
import { ProblemError } from '../api/problem.js';
import { jobIn } from '../work/job.js';
import { Workers } from '../work/workers.js';
import type { Chart, Size } from './chart.js';
import type { Drawing } from './draw-chart.js';
import type { Rastering } from './raster.js';

const DRAW = jobIn<Drawing, string>(import.meta.url, 'draw-chart', 'drawChart');
const RASTER = jobIn<Rastering, Uint8Array>(import.meta.url, 'raster', 'rasterise');

/** In the threads at once, so that uploads find room there too. */
const MOST_AT_ONCE = 2;

/** A page of diagrams asks for all of them together, and several people open it. */
const MOST_WAITING = 100;

/** A picture has two pixels for one of the drawing, so that it is sharp on paper and on fine screens. */
const SCALE = 2;

/** Draws charts, in the threads. */
@Injectable()
export class Charts {
  private atWork = 0;
  private readonly waiting: (() => void)[] = [];

  constructor(private readonly workers: Workers) {}

  /** @throws ProblemError unavailable when too many wait */
  svg(chart: Chart, size: Size): Promise<string> {
    return this.inTurn(() => this.workers.run(DRAW, { chart, size }));
  }

  /** @throws ProblemError unavailable when too many wait, or PNG cannot be made here */
  async png(svg: string): Promise<Buffer> {
    return Buffer.from(await this.inTurn(() => this.workers.run(RASTER, { svg, scale: SCALE })));
  }

  private async inTurn<T>(work: () => Promise<T>): Promise<T> {
    if (this.atWork >= MOST_AT_ONCE) {
      if (this.waiting.length >= MOST_WAITING)
        throw new ProblemError('unavailable', `${MOST_WAITING} drawings are waiting already. Try again.`);
      await new Promise<void>((resolve) => this.waiting.push(resolve)); // it is given the place of one that ends
    } else this.atWork += 1;
    try {
      return await work();
    } finally {
      const next = this.waiting.shift();
      if (next) next();
      else this.atWork -= 1;
    }
  }
}
