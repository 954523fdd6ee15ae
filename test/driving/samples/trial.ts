import type { MachineSample } from '../../../src/engineering/sample-means.js';
import { aDrive, aProject } from '../../builders/project.js';
import { type Instruments, type Phase, sampled } from '../../engineering/sampled-drive.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { asUploaded, uploadLines } from './samples.js';

export const CLEAN: Instruments = {
  intervalS: 1,
  positionNoiseMm: 0,
  readingNoise: 0,
  lostPerMille: 0,
  hasGrippers: true,
  random: () => 0,
};

/** At 60 mm/min: one millimetre per second. */
export const bore = (minutes: number): Phase => ({
  kind: 'bore',
  s: minutes * 60,
  rateMmPerMin: 60,
  thrustKn: 9000,
});

/**
 * From 06:00: 10 min, a pause of 5 min, 5 min more; 06:20 to 06:23 a regrip; 10 min to 06:33. Borings 0 to 0.600, 0.600 to
 * 0.900 and 0.900 to 1.500 m; the first two are one stroke.
 */
const PHASES: Phase[] = [bore(10), { kind: 'pause', s: 300 }, bore(5), { kind: 'regrip', s: 180 }, bore(10)];
export const MADE: MachineSample[] = sampled(PHASES, CLEAN);
export const SPAN = { from: '2027-03-01T05:00:00Z', to: '2027-03-01T07:00:00Z' };

export const at = (time: string): string => `2027-03-01T${time}Z`;

/** A separate drive for each test, from 1+200 to 2+200. */
export class Trial {
  private count = 0;

  private constructor(readonly app: TestApp) {}

  static async start(): Promise<Trial> {
    const app = await startApp();
    await aProject(app);
    return new Trial(app);
  }

  get code(): string {
    return `D${this.count}`;
  }

  get drive(): string {
    return `/v1/projects/P1/drives/${this.code}`;
  }

  get proposals(): string {
    return `${this.drive}/stroke-proposals`;
  }

  get shift(): string {
    return `${this.drive}/shifts/2027-03-01/day`;
  }

  async nextDrive(): Promise<void> {
    this.count += 1;
    await aDrive(this.app, { drive: this.code });
  }

  async put(samples = MADE): Promise<void> {
    expect((await uploadLines(this.app, samples.map(asUploaded), `${this.drive}/samples`)).status).toBe(200);
  }

  propose(input: object = SPAN) {
    return this.app.http.post(this.proposals).send(input);
  }

  accept(number: number, etag?: string, body: object = {}) {
    const request = this.app.http.post(`${this.proposals}/${number}/accept`);
    if (etag !== undefined) void request.set('if-match', etag);
    return request.send(body);
  }

  get(path: string) {
    return this.app.http.get(path);
  }

  /** Sends the day shift of 1 March, or another. */
  post(shift: object, url = this.shift) {
    return this.app.http.put(url).send(shift);
  }

  /** Rows of the test's own drive; $1 is its id. */
  sql(query: string): Promise<Record<string, unknown>[]> {
    return this.app.sql(query.replace('$1', `(select id from drive where code = '${this.code}')`));
  }
}
