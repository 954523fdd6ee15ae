import { Injectable } from '@nestjs/common';
import { AdvanceService } from '../../driving/advance/advance.service.js';
import { FaceService } from '../../driving/advance/face.service.js';
import type { ProgrammeDay } from '../../driving/programme/programme.models.js';
import { ProgrammeService } from '../../driving/programme/programme.service.js';
import { DrivesService } from '../../site/drives/drives.service.js';
import type { AdvanceGlance, AgainstProgramme } from './glance.js';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
const WINDOW_HOURS = [24, 7 * 24];

/** Number of production days listed, and days between the two programme days compared. */
const DAYS_LISTED = 14;
const DAYS_APART = 7;

/** Programmes shown; a drive has one or two. */
const MOST_PROGRAMMES = 4;

const isoDay = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** The advance of the drive, from the report views. */
@Injectable()
export class AdvanceGlances {
  constructor(
    private readonly drives: DrivesService,
    private readonly face: FaceService,
    private readonly advance: AdvanceService,
    private readonly programmes: ProgrammeService,
  ) {}

  async of(drive: string, now: Date): Promise<AdvanceGlance> {
    const [progress, best, programmes] = await Promise.all([
      this.drives.progress(drive),
      Promise.all(WINDOW_HOURS.map((hours) => this.face.best(drive, hours))),
      this.againstProgrammes(drive),
    ]);
    const last = progress.lastBoredAt == null ? undefined : Date.parse(progress.lastBoredAt);
    const endsWithRecord = last !== undefined && last < now.getTime() - 7 * DAY_MS;
    const to = endsWithRecord ? last : now.getTime();
    const window = (hours: number) =>
      this.face.between(drive, {
        from: new Date(to - hours * HOUR_MS).toISOString(),
        to: new Date(to).toISOString(),
      });
    const [windows, days] = await Promise.all([
      Promise.all(WINDOW_HOURS.map(window)),
      // one day more: the production day of a moment may begin on the day before
      this.advance.byDay(drive, { from: isoDay((last ?? to) - DAYS_LISTED * DAY_MS) }),
    ]);
    const listed = days.rows().slice(-DAYS_LISTED).reverse();
    return { progress, windows, endsWithRecord, best, programmes, days: listed };
  }

  private async againstProgrammes(drive: string): Promise<AgainstProgramme[]> {
    const all = await this.programmes.list(drive);
    return Promise.all(
      all.slice(0, MOST_PROGRAMMES).map(async ({ programme }) => ({
        programme,
        days: lastDays(await this.programmes.progress(drive, programme)),
      })),
    );
  }
}

/** The last recorded production day that the programme plans, and the one a week before. */
const lastDays = (days: ProgrammeDay[]): ProgrammeDay[] => {
  const met = days.filter(({ actualM, plannedM }) => actualM != null && plannedM != null);
  return [met.at(-1), met.at(-1 - DAYS_APART)].filter((day) => day !== undefined);
};
