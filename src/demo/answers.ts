import type { DayAdvance, ShiftAdvance } from '../features/driving/advance/advance.models.js';
import type { DriveProgress } from '../features/site/drives/drive.model.js';
import type { ProbeCover } from '../features/ahead/probing/probe-cover.model.js';
import type { ProbeHole } from '../features/ahead/probing/probe-hole.model.js';
import type { AsBuilt } from '../features/outputs/record/as-built.models.js';
import type { OpenItem } from '../features/outputs/record/open-item.model.js';
import type { SupportQuantity } from '../features/support/support/support.models.js';
import { formatChainage, parseChainage } from '../engineering/chainage.js';
import { AccountAnswers } from './account-answers.js';
import { DRIVE_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { GroundAnswers } from './ground-answers.js';
import { peopleAnswers } from './people-answers.js';
import { registerAnswer } from './register-answers.js';
import { Reports } from './reports.js';
import { local, section, wrapped } from './section.js';
import { DRIVE } from './site.js';
import { type Column, table } from './table.js';

const FIRST_DAY_SHOWN = '2021-03-24';
const SHORT_NIGHT = '2021-03-27';
const WINDOW_MM = 20_000;

const arc = ({ arcFromDeg, arcToDeg }: AsBuilt['support'][number]): string =>
  arcFromDeg == null ? '' : `${arcFromDeg} to ${arcToDeg ?? ''}`;

/** Empty where there is no torque ratio to judge by. */
export const advanceInWords = (regularAdvance: boolean | null | undefined): string => {
  if (regularAdvance == null) return '';
  return regularAdvance ? 'regular' : 'exceptional';
};

/** The main questions, each answered by the service and printed with its address. */
export class Answers {
  constructor(private readonly client: DemoClient) {}

  async all(): Promise<string> {
    const progress = await this.client.get<DriveProgress>(`${DRIVE_PATH}/progress`);
    const reports = new Reports(this.client);
    const sections = [
      this.face(progress),
      await this.days(),
      await this.shortNight(),
      await reports.best(),
      await reports.time(),
      ...(await peopleAnswers(this.client)),
      await this.quantities(),
      ...(await new GroundAnswers(this.client).all()),
      ...(await new AccountAnswers(this.client).all()),
      await this.asBuilt(progress.faceChainage),
      await registerAnswer(this.client),
      await this.probing(),
      await reports.samples(),
      await this.openItems(),
    ];
    return sections.join('\n\n');
  }

  private face(progress: DriveProgress): string {
    const rows: [string, string][] = [
      ['face', progress.faceChainage],
      ['driven to the face', `${progress.faceM} m`],
      ['bored in the record', `${progress.boredM} m in ${progress.strokeCount} strokes`],
      ['missing behind the face', `${progress.missingM} m`],
      ['left to the end', `${progress.remainingM} m, to ${DRIVE.input.endChainage}`],
      ['last bored', local(progress.lastBoredAt)],
    ];
    const lines = rows.map(([name, value]) => `  ${name.padEnd(24)}${value}`);
    return section('FACE POSITION', this.client.url(`${DRIVE_PATH}/progress`), ...lines);
  }

  private async days(): Promise<string> {
    const [path, query] = [`${DRIVE_PATH}/advance/days`, { from: FIRST_DAY_SHOWN }];
    const columns: Column<DayAdvance>[] = [
      { title: 'day from 06:00', value: (day) => day.productionDay },
      { title: 'advance m', value: (day) => day.advanceM, right: true },
      { title: 'strokes', value: (day) => day.strokeCount, right: true },
      { title: 'boring h', value: (day) => day.boringHours, right: true },
      { title: 'from', value: (day) => day.fromChainage },
      { title: 'face', value: (day) => day.faceChainage },
      { title: 'cumulative m', value: (day) => day.cumulativeM, right: true },
    ];
    const days = await this.client.get<DayAdvance[]>(path, query);
    return section('ADVANCE OF THE LAST DAYS', this.client.url(path, query), table(days, columns));
  }

  private async shortNight(): Promise<string> {
    const [path, query] = [`${DRIVE_PATH}/advance/shifts`, { from: SHORT_NIGHT, to: SHORT_NIGHT }];
    const hours = ({ startsAt, endsAt }: ShiftAdvance): number =>
      (Date.parse(endsAt) - Date.parse(startsAt)) / 3_600_000;
    const columns: Column<ShiftAdvance>[] = [
      { title: 'date', value: ({ date }) => date },
      { title: 'shift', value: ({ shift }) => shift },
      { title: 'starts', value: ({ startsAt }) => local(startsAt) },
      { title: 'ends', value: ({ endsAt }) => local(endsAt) },
      { title: 'lasts h', value: hours, right: true },
      { title: 'advance m', value: ({ advanceM }) => advanceM, right: true },
      { title: 'state', value: ({ state }) => state },
    ];
    const shifts = await this.client.get<ShiftAdvance[]>(path, query);
    return section(
      'THE NIGHT THE CLOCKS WENT FORWARD (a day of 23 h)',
      this.client.url(path, query),
      table(shifts, columns),
    );
  }

  private async quantities(): Promise<string> {
    const path = `${DRIVE_PATH}/support-quantities`;
    const columns: Column<SupportQuantity>[] = [
      { title: 'item', value: ({ item }) => item },
      { title: 'what', value: ({ description }) => description },
      { title: 'zone', value: ({ zone }) => zone },
      { title: 'quantity', value: ({ quantity }) => quantity, right: true },
      { title: 'unit', value: ({ unit }) => unit },
      { title: 'lines', value: ({ rowCount }) => rowCount, right: true },
    ];
    const rows = await this.client.get<SupportQuantity[]>(path);
    return section('SUPPORT INSTALLED', this.client.url(path), table(rows, columns));
  }

  private async asBuilt(face: string): Promise<string> {
    const back = parseChainage(face) - DRIVE.input.direction * WINDOW_MM;
    const [path, query] = [`${DRIVE_PATH}/as-built`, { from: formatChainage(back), to: face }];
    const record = await this.client.get<AsBuilt>(path, query);
    const place: Column<
      AsBuilt['strokes'][number] | AsBuilt['ground'][number] | AsBuilt['support'][number]
    >[] = [
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'shift', value: ({ date, shift }) => `${date ?? ''} ${shift ?? ''}` },
    ];
    const strokes: Column<AsBuilt['strokes'][number]>[] = [
      { title: 'stroke', value: ({ number }) => number, right: true },
      ...place,
      { title: 'within m', value: ({ withinM }) => withinM, right: true },
      { title: 'torque ratio', value: ({ torqueRatio }) => torqueRatio?.toFixed(3), right: true },
      { title: 'advance', value: ({ regularAdvance }) => advanceInWords(regularAdvance) },
    ];
    const ground: Column<AsBuilt['ground'][number]>[] = [
      { title: 'class', value: ({ groundClass }) => groundClass },
      ...place,
      { title: 'within m', value: ({ withinM }) => withinM, right: true },
      { title: 'rock', value: ({ lithology }) => lithology },
    ];
    const support: Column<AsBuilt['support'][number]>[] = [
      { title: 'support', value: ({ item }) => item },
      { title: 'zone', value: ({ zone }) => zone },
      ...place,
      { title: 'within', value: ({ quantityWithin }) => quantityWithin, right: true },
      { title: 'unit', value: ({ unit }) => unit },
      { title: 'arc °', value: arc },
    ];
    return section(
      `AS BUILT, THE LAST ${WINDOW_MM / 1000} M: ${record.from} to ${record.to}`,
      this.client.url(path, query),
      table(record.strokes, strokes),
      '',
      table(record.ground, ground),
      '',
      table(record.support, support),
      '',
      wrapped(record.caution),
    );
  }

  private async probing(): Promise<string> {
    const path = `${DRIVE_PATH}/probe-cover`;
    const cover = await this.client.get<ProbeCover>(path);
    const holes = await this.client.get<ProbeHole[]>(`${DRIVE_PATH}/probe-holes`);
    const columns: Column<ProbeHole>[] = [
      { title: 'hole', value: ({ name }) => name },
      { title: 'collar', value: ({ collar }) => collar },
      { title: 'reaches', value: ({ reach }) => reach },
      { title: 'length m', value: ({ lengthM }) => lengthM, right: true },
      { title: 'water l/min', value: ({ waterInflowLPerMin }) => waterInflowLPerMin, right: true },
      { title: 'at m', value: ({ waterDepthM }) => waterDepthM, right: true },
    ];
    const wet = holes.filter(({ waterInflowLPerMin }) => waterInflowLPerMin != null);
    return section(
      'PROBED AHEAD OF THE FACE',
      this.client.url(path),
      `  face ${cover.faceChainage}, probed to ${cover.probedToChainage}: ${cover.coverM} m of cover, ${cover.countedHoleCount} of ${cover.holeCount} holes count`,
      `  the face may go ${cover.permittedM} m, to ${cover.permittedToChainage}: ${cover.permittedStrokes} strokes of ${cover.strokeLengthM} m`,
      ...cover.reasons.map((reason) => wrapped(reason)),
      wrapped(cover.caution),
      '',
      `  The last holes, and those with water: GET ${this.client.url(`${DRIVE_PATH}/probe-holes`)}`,
      table([...wet, ...holes.filter((hole) => !wet.includes(hole)).slice(-3)], columns),
    );
  }

  private async openItems(): Promise<string> {
    const path = `${DRIVE_PATH}/open-items`;
    const items = await this.client.get<OpenItem[]>(path);
    const lines = items.map(({ detail }) => `  - ${detail}`);
    return section(
      'WHAT THE RECORD STILL MISSES',
      this.client.url(path),
      ...(lines.length > 0 ? lines : ['  Nothing.']),
    );
  }
}
