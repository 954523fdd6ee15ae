import { Injectable } from '@nestjs/common';
import { jobIn } from '../work/job.js';
import { Places } from '../work/places.js';
import { Workers } from '../work/workers.js';
import type { Chart, Size } from './chart.js';
import type { Drawing } from './draw-chart.js';
import type { Rastering } from './raster.js';

const DRAW = jobIn<Drawing, string>(import.meta.url, 'draw-chart', 'drawChart');
const RASTER = jobIn<Rastering, Uint8Array>(import.meta.url, 'raster', 'rasterise');

/** Drawings in the threads at a time, so that uploads find room there too. */
const MOST_AT_ONCE = 2;

/** A page requests all of its diagrams at once, and several people may open it. */
const MOST_WAITING = 100;

/** Pixels of the picture per pixel of the drawing, so that it is sharp on paper and on high-resolution screens. */
const SCALE = 2;

/** Draws charts, in worker threads. */
@Injectable()
export class Charts {
  private readonly places = new Places('drawings', MOST_AT_ONCE, MOST_WAITING);

  constructor(private readonly workers: Workers) {}

  /** @throws ProblemError unavailable when too many are waiting */
  svg(chart: Chart, size: Size): Promise<string> {
    return this.places.run(() => this.workers.run(DRAW, { chart, size }));
  }

  /** @throws ProblemError unavailable when too many are waiting, or PNG is not supported here */
  async png(svg: string): Promise<Buffer> {
    return Buffer.from(await this.places.run(() => this.workers.run(RASTER, { svg, scale: SCALE })));
  }
}
