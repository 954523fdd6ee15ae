import { Injectable } from '@nestjs/common';
import { type Window, windowOf } from '../../../common/api/chainage-window.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Undrawn } from '../../../common/api/undrawn.js';
import { isChainage, isDate } from '../../../common/api/rules.js';
import { Charts } from '../../../common/charts/charts.js';
import type { Chart, Size } from '../../../common/charts/chart.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { lastChange, momentAsked } from '../../../common/moment-asked.js';
import { ProbeFanService } from '../../ahead/probing/probe-fan.service.js';
import { OrientationsService } from '../../ground/discontinuities/orientations.service.js';
import { type Asked, type Diagram, DiagramExtent } from './diagram.js';
import { type DiagramInfo, type DiagramQuery, USUAL_SIZE } from './diagram.models.js';
import { DIAGRAMS } from './diagrams.js';

const moment =
  (): string => `select ${momentAsked('p.time_zone')} as moment, ${lastChange('p.time_zone')} as change
  from project p where p.id = scope_project()`;

const CHAINAGE_RULE = 'must be a chainage such as 12+345.678, or metres, to the millimetre';

/** Whether the requested names exist. */
const NAMED = `select ($2::text is null or exists (select from baseline where drive_id = $1 and name = $2)) as baseline,
  ($3::text is null or exists (select from programme where drive_id = $1 and programme = $3)) as programme`;

type Options = Exclude<keyof DiagramQuery, 'from' | 'to'>;

/** A drawing that is made elsewhere, in its own form, but also listed here. */
interface Drawing extends Omit<Diagram, 'takes' | 'show'> {
  draw: (drive: string, query: DiagramQuery) => Promise<string>;
}

type Listed = Omit<Diagram, 'show' | 'takes'> & { takes: readonly Options[] };

/** Diagrams of a drive. */
@Injectable()
export class DiagramsService {
  private readonly drawings: Drawing[];

  constructor(
    private readonly drives: DriveReader,
    private readonly charts: Charts,
    nets: OrientationsService,
    fans: ProbeFanService,
  ) {
    this.drawings = [
      {
        name: 'stereonet',
        title: 'Net of the poles of the discontinuities',
        about:
          'Poles of the discontinuities in equal-area projection of the lower hemisphere, with the mean of each set',
        extent: DiagramExtent.chainage,
        views: ['discontinuity_row', 'discontinuity_set'],
        draw: (drive, { from, to }) => {
          assertEnds({ from, to }, isChainage, CHAINAGE_RULE);
          return nets.stereonet(drive, { from, to });
        },
      },
      {
        name: 'probe-fan',
        title: 'Probe holes ahead of the face',
        about: 'The probe holes that reach ahead of the face, in section and in plan',
        extent: DiagramExtent.none,
        views: ['probe_cover', 'probe_hole_reading', 'drive_progress'],
        draw: (drive) => fans.get(drive),
      },
    ];
  }

  /** @throws ProblemError not_found naming the drive */
  list(drive: string): Promise<DiagramInfo[]> {
    return this.drives.reading(drive, () => {
      const base = `/v1/projects/${scope().project}/drives/${drive}/diagrams`;
      const all = this.all().map(({ name, title, about, extent, takes, views }): DiagramInfo => ({
        ...{ name, title, about, extent, takes: [...takes], views: views.map((view) => `report.${view}`) },
        svg: `${base}/${name}.svg`,
        png: `${base}/${name}.png`,
      }));
      return Promise.resolve(all);
    });
  }

  /** @throws ProblemError not_found naming drive or diagram; invalid for what the diagram does not take */
  async svg(drive: string, name: string, query: DiagramQuery): Promise<Undrawn<string>> {
    const listed = this.all().find((each) => each.name === name);
    if (!listed) {
      const names = this.all().map((each) => each.name);
      throw notFound(`diagram ${name}; there are ${names.join(', ')}`);
    }
    assertTaken(listed, query);
    const drawing = this.drawings.find((each) => each.name === name);
    if (drawing) {
      const svg = await drawing.draw(drive, query);
      return new Undrawn([svg], () => Promise.resolve(svg));
    }
    const diagram = DIAGRAMS.find((each) => each.name === name);
    if (!diagram) throw new Error(`diagram ${name} is in the list alone`);
    const chart = await this.chart(drive, diagram, query); // no connection is held while drawing
    const size: Size = { width: query.width ?? USUAL_SIZE.width, height: query.height ?? USUAL_SIZE.height };
    return new Undrawn([chart, size], () => this.charts.svg(chart, size));
  }

  /** The same as PNG. @throws ProblemError as svg; unavailable where PNG cannot be made */
  async png(drive: string, name: string, query: DiagramQuery): Promise<Undrawn<Buffer>> {
    return (await this.svg(drive, name, query)).as('png', (svg) => this.charts.png(svg));
  }

  private all(): Listed[] {
    return [
      ...DIAGRAMS.map((diagram) => ({ ...diagram, takes: [...diagram.takes, 'width', 'height'] as const })),
      ...this.drawings.map((drawing) => ({ ...drawing, takes: [] })),
    ];
  }

  private chart(drive: string, diagram: Diagram, query: DiagramQuery): Promise<Chart> {
    return this.drives.reading(drive, async (id, statements) => {
      const { project } = scope();
      const [asked, [head]] = await Promise.all([
        readAsked(statements, id, diagram.extent, query),
        readRows<{ moment: string; change: string }>(statements, moment()),
      ]);
      await assertNamed(statements, id, drive, asked);
      const shown = await diagram.show({ ...asked, id, statements, project, drive });
      const sources = diagram.views.map((view) => `report.${view}`).join(', ');
      return {
        title: diagram.title,
        about: [
          `Drive ${drive}, project ${project}; ${shown.period}.`,
          `As of ${head?.moment ?? ''}, last change ${head?.change ?? ''}. Drawn from ${sources}.`,
        ],
        notes: shown.notes ?? [],
        ...(shown.empty === undefined ? {} : { empty: shown.empty }),
        panels: shown.panels,
      };
    });
  }
}

/** @throws ProblemError not_found naming baseline or programme */
const assertNamed = async (
  statements: Statements,
  id: number,
  drive: string,
  { baseline, programme }: Asked,
): Promise<void> => {
  if (baseline == null && programme == null) return;
  const [found] = await readRows<{ baseline: boolean; programme: boolean }>(
    statements,
    NAMED,
    id,
    baseline ?? null,
    programme ?? null,
  );
  if (!found?.baseline) throw notFound(`baseline ${baseline} in drive ${drive}`);
  if (!found.programme) throw notFound(`programme ${programme} in drive ${drive}`);
};

const assertTaken = ({ name, extent, takes }: Listed, query: DiagramQuery): void => {
  const known: readonly string[] = extent === DiagramExtent.none ? takes : ['from', 'to', ...takes];
  const faults = Object.entries(query).flatMap(([option, value]): Fault[] =>
    value == null || known.includes(option)
      ? []
      : [
          {
            ...{ in: 'query', pointer: `/${option}`, value: value as unknown },
            detail: `${option} is not taken by diagram ${name}${known.length > 0 ? `, which takes ${known.join(', ')}` : ''}`,
          },
        ],
  );
  if (faults.length > 0) throw faulty('invalid', faults);
};

const readAsked = async (
  statements: Statements,
  id: number,
  extent: DiagramExtent,
  { from, to, baseline, programme }: DiagramQuery,
): Promise<Asked> => {
  const window = (ends: { from?: string; to?: string }): Promise<Window> => windowOf(statements, id, ends);
  const asked = { days: [null, null] as Asked['days'], baseline, programme };
  if (extent === DiagramExtent.chainage) {
    assertEnds({ from, to }, isChainage, CHAINAGE_RULE);
    return { ...asked, window: await window({ from, to }) };
  }
  assertEnds({ from, to }, isDate, 'must be a production day such as 2027-03-01');
  if (from != null && to != null && from > to)
    throw faulty('invalid', [
      { in: 'query', pointer: '/to', value: to, detail: `to ${to} lies before from ${from}` },
    ]);
  return { ...asked, days: [from ?? null, to ?? null], window: await window({}) };
};

const assertEnds = (
  ends: { from?: string; to?: string },
  holds: (value: unknown) => boolean,
  rule: string,
): void => {
  const faults = Object.entries(ends).flatMap(([name, value]): Fault[] =>
    value == null || holds(value)
      ? []
      : [{ in: 'query', pointer: `/${name}`, value, detail: `${name} ${rule}` }],
  );
  if (faults.length > 0) throw faulty('invalid', faults);
};
