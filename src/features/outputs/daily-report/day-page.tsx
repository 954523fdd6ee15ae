import type { VNode } from 'preact';
import { assetOf, assetPath } from '../../../common/html/assets.js';
import { scope } from '../../../common/database/scope.js';
import { Page, PAGE_STYLE, pageText } from '../../../common/html/page.js';
import type { Hatch } from '../../../common/files/paper.js';
import type { DailyReport } from './daily-report.models.js';
import { sheetsOf } from './sheets.js';
import type { Block, Sheet, SheetTable } from './sheet.js';

const titleOf = ({ date, drive, project }: DailyReport): string =>
  `Daily report ${date}, drive ${drive}, project ${project}`;

const HATCHES: Record<Exclude<Hatch, 'blank'>, VNode> = {
  solid: <rect width="8" height="8" fill="#3d3d3d" />,
  grey: <rect width="8" height="8" fill="#bdbdbd" />,
  rising: <path d="M-2 2 L2 -2 M-2 10 L10 -2 M6 10 L10 6" stroke="#111" fill="none" />,
  crossed: <path d="M0 0 L8 8 M0 8 L8 0" stroke="#111" fill="none" />,
  dotted: (
    <g>
      <circle cx="2" cy="2" r="1" />
      <circle cx="6" cy="6" r="1" />
    </g>
  ),
  level: <path d="M0 2 H8 M0 6 H8" stroke="#111" fill="none" />,
  upright: <path d="M1 0 V8 M4 0 V8 M7 0 V8" stroke="#111" fill="none" />,
};

/** Once per page: every bar refers to these hatches. */
const HatchDefinitions = (): VNode => (
  <svg width="0" height="0" aria-hidden="true">
    <defs>
      {Object.entries(HATCHES).map(([name, shape]) => (
        <pattern id={`hatch-${name}`} width="8" height="8" patternUnits="userSpaceOnUse">
          {shape}
        </pattern>
      ))}
    </defs>
  </svg>
);

const fillOf = (hatch: Hatch): string => (hatch === 'blank' ? '#fff' : `url(#hatch-${hatch})`);

const WIDTH = 960;

/** The sheet to which a part belongs: names of regions must be unique on a page. */
interface OfSheet {
  of: string;
}

const Bar = ({ of, cells, legend, about }: Extract<Block, { kind: 'bar' }> & OfSheet): VNode => {
  const x = (share: number): number => Math.round(share * WIDTH * 100) / 100;
  return (
    <>
      <h3>Time by quarter of an hour</h3>
      <div class="wide" role="region" aria-label={`Time by quarter of an hour, ${of}`} tabindex={0}>
        <svg class="bar" viewBox={`-16 0 ${WIDTH + 32} 66`} role="img" aria-label={about}>
          {cells.flatMap(({ parts }) =>
            parts.map(({ look, from, to }) => (
              <rect
                x={x(from)}
                y="16"
                width={(x(to) - x(from)).toFixed(2)}
                height="34"
                fill={fillOf(look.hatch)}
              />
            )),
          )}
          {cells.map(({ clock, from, to, letter }) => (
            <g font-size="10" text-anchor="middle" fill="#111">
              <path
                d={`M${x(from)} ${clock.endsWith(':00') ? 12 : 16} V50`}
                stroke="#111"
                stroke-width="0.6"
              />
              {clock.endsWith(':00') && (
                <text x={x(from)} y="10">
                  {clock}
                </text>
              )}
              <text x={x((from + to) / 2)} y="62">
                {letter}
              </text>
            </g>
          ))}
          <rect x="0" y="16" width={WIDTH} height="34" fill="none" stroke="#111" />
        </svg>
      </div>
      <ul class="legend">
        {legend.map(({ look, time }) => (
          <li>
            <svg width="20" height="12" aria-hidden="true">
              <rect width="20" height="12" fill={fillOf(look.hatch)} stroke="#111" />
            </svg>
            {`${look.letter} ${look.words} ${time}`}
          </li>
        ))}
      </ul>
    </>
  );
};

const Table = ({ of, title, columns, rows }: SheetTable & OfSheet): VNode => {
  const look = (column: number): string | undefined =>
    columns[column]?.kind === 'number' ? 'number' : undefined;
  return (
    <>
      <h3>{title}</h3>
      <div class="wide" role="region" aria-label={`${title}, ${of}`} tabindex={0}>
        <table>
          <thead>
            <tr>
              {columns.map((column, index) => (
                <th scope="col" class={look(index)}>
                  {column.title}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.flatMap(({ cells, note, isTotal }) => [
              <tr class={isTotal ? 'total' : undefined}>
                {columns.map((_, index) => (
                  <td class={look(index)}>{cells[index] ?? ''}</td>
                ))}
              </tr>,
              ...(note === undefined
                ? []
                : [
                    <tr class="note">
                      <td colSpan={columns.length}>{note}</td>
                    </tr>,
                  ]),
            ])}
          </tbody>
        </table>
      </div>
    </>
  );
};

const Signatures = ({ signatures, notes }: Extract<Block, { kind: 'signatures' }>): VNode => (
  <>
    <div class="signatures">
      {signatures.map(({ side, parties, record }) => (
        <div>
          <h3>{side}</h3>
          {parties.map((name) => (
            <p>{name}</p>
          ))}
          {record !== '' && <p class="small">{`In the record: ${record}`}</p>}
          {['Name', 'Date', 'Signature'].map((label) => (
            <p class="line small">{label}</p>
          ))}
        </div>
      ))}
    </div>
    {notes.map((note) => (
      <p class="small">{note}</p>
    ))}
  </>
);

const BlockOf = ({ of, block }: { block: Block } & OfSheet): VNode => {
  switch (block.kind) {
    case 'facts':
      return (
        <dl class="facts">
          {block.facts.map(([label, value]) => (
            <div>
              <dt>{label}</dt>
              <dd>{value === '' ? '–' : value}</dd>
            </div>
          ))}
        </dl>
      );
    case 'bar':
      return <Bar of={of} {...block} />;
    case 'table':
      return <Table of={of} {...block} />;
    case 'text':
      return (
        <p class="said">
          <strong>{`${block.title}: `}</strong>
          {block.text}
        </p>
      );
    case 'caution':
      return <p class="caution">{block.text}</p>;
    case 'signatures':
      return <Signatures {...block} />;
  }
};

const SheetOf = ({ sheet: { title, place, blocks } }: { sheet: Sheet }): VNode => (
  <section class="sheet">
    <header>
      <h2>{title}</h2>
      <span>{place}</span>
    </header>
    {blocks.map((block) => (
      <BlockOf of={title} block={block} />
    ))}
  </section>
);

const Body = ({ report, links }: { report: DailyReport; links?: VNode }): VNode => (
  <main class="report">
    <HatchDefinitions />
    <h1>{titleOf(report)}</h1>
    {links}
    {sheetsOf(report).map((sheet) => (
      <SheetOf sheet={sheet} />
    ))}
  </main>
);

/** The report of a day as a page of the service, with a link to its PDF as of the same moment. */
export const dayPage = (report: DailyReport): VNode => {
  const { asOf } = scope();
  const moment = asOf && 'instant' in asOf ? `?asOf=${encodeURIComponent(asOf.instant)}` : '';
  const address = `/v1/projects/${report.project}/drives/${report.drive}/daily-reports/${report.date}`;
  return (
    <Page title={titleOf(report)} styles={[PAGE_STYLE, 'report.css']}>
      <Body
        report={report}
        links={
          <p class="links">
            <a href={`${address}.pdf${moment}`}>As PDF, to be signed</a>
          </p>
        }
      />
    </Page>
  );
};

/** A style sheet of `src/assets`, to be embedded in a self-contained file; it contains nothing that needs escaping. */
const styles = (name: string): string => assetOf(assetPath(name).replace('/assets/', ''))?.text() ?? '';

/** The same as a self-contained file. */
export const dayFile = (report: DailyReport): string =>
  pageText(
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta name="viewport" content="width=device-width, initial-scale=1" />
        <meta http-equiv="content-security-policy" content="default-src 'none'; style-src 'unsafe-inline'" />
        <title>{titleOf(report)}</title>
        <style>{styles('page.css')}</style>
        <style>{styles('report.css')}</style>
      </head>
      <body>
        <Body report={report} />
      </body>
    </html>,
  );
