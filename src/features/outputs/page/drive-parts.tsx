import type { VNode } from 'preact';
import { HOLD_POINT_CAUTION } from '../../ahead/hold-points/hold-point.models.js';
import { ALERT_CAUTION } from '../../watch/alerts/alert.models.js';
import { Caution, Part } from './frame.js';
import type { Glance } from './glance.js';
import { counted, metres, moment } from './words.js';

/** Open items shown; the page links to the others. */
const ITEMS_SHOWN = 12;

/** Diagrams shown at once; the others open on demand. */
const DIAGRAMS_SHOWN = 4;

type WithApi = Glance & { api: string };

const Cover = ({ cover }: Glance): VNode => (
  <>
    <dl>
      <dt>Probed ahead of the face</dt>
      <dd>
        {metres(cover.coverM)}, to {cover.probedToChainage}
      </dd>
      <dt>Advance permitted by required probing</dt>
      <dd>
        {cover.permittedM == null
          ? 'not known'
          : `${metres(cover.permittedM)}, to ${cover.permittedToChainage ?? ''}`}
      </dd>
      <dt>Next hold point</dt>
      <dd>
        {cover.nextHoldPoint == null
          ? 'none pending release'
          : `${cover.nextHoldPoint} at ${cover.nextHoldPointChainage ?? ''}, ${metres(cover.toNextHoldPointM ?? '')} ahead`}
      </dd>
    </dl>
    {cover.passedHoldPointCount > 0 && (
      <p class="notice bad">
        {counted(cover.passedHoldPointCount, 'hold point')} behind the face{' '}
        {cover.passedHoldPointCount === 1 ? 'is' : 'are'} not released.
      </p>
    )}
    {cover.reasons.length > 0 && (
      <ul>
        {cover.reasons.map((reason) => (
          <li>{reason}</li>
        ))}
      </ul>
    )}
    <Caution>{cover.caution}</Caution>
    <Caution>{HOLD_POINT_CAUTION}</Caution>
  </>
);

export const Ahead = (glance: Glance): VNode => (
  <Part id="ahead" title="Ahead of the face">
    <Cover {...glance} />
  </Part>
);

export const Alerts = ({ alerts, project }: Glance): VNode => (
  <Part id="alerts" title="Open alerts">
    {alerts.items.length === 0 ? (
      <p>No open alerts.</p>
    ) : (
      <ul class="list">
        {alerts.items.map(({ number, text, raisedAt, acknowledgedAt, acknowledgedBy }) => (
          <li>
            <strong>{`${number}.`}</strong> {text}
            <br />
            <span class="quiet">
              {`raised ${moment(raisedAt, project.timeZone)}; `}
              {acknowledgedAt == null
                ? 'not acknowledged'
                : `acknowledged by ${acknowledgedBy ?? ''} ${moment(acknowledgedAt, project.timeZone)}`}
            </span>
          </li>
        ))}
      </ul>
    )}
    {alerts.next != null && (
      <p>
        There are more:{' '}
        <a href={`/v1/projects/${project.code}/alerts?state=open`}>all open alerts of the project, as JSON</a>
      </p>
    )}
    <Caution>{ALERT_CAUTION}</Caution>
  </Part>
);

export const OpenItems = ({ openItems, api }: WithApi): VNode => (
  <Part id="open-items" title="Open items of the record">
    {openItems.length === 0 ? (
      <p>No open items.</p>
    ) : (
      <ul class="list">
        {openItems.slice(0, ITEMS_SHOWN).map(({ detail }) => (
          <li>{detail}</li>
        ))}
      </ul>
    )}
    {openItems.length > ITEMS_SHOWN && (
      <p>
        {`The first ${ITEMS_SHOWN} of ${openItems.length}: `}
        <a href={`${api}/open-items`}>all of them, as JSON</a>
      </p>
    )}
  </Part>
);

export const Days = ({ days, api }: WithApi): VNode => (
  <Part id="days" title="Last production days">
    {days.length === 0 ? (
      <p>Nothing is recorded yet.</p>
    ) : (
      <table>
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col" class="number">
              Advance [m]
            </th>
            <th scope="col" class="number">
              Strokes
            </th>
            <th scope="col" class="number">
              Face at end
            </th>
            <th scope="col">Report</th>
          </tr>
        </thead>
        <tbody>
          {days.map(({ productionDay, advanceM, strokeCount, faceChainage }) => (
            <tr>
              <th scope="row" class="day">
                <a href={`${api}/daily-reports/${productionDay}`}>{productionDay}</a>
              </th>
              <td class="number">{advanceM}</td>
              <td class="number">{strokeCount}</td>
              <td class="number">{faceChainage ?? '–'}</td>
              <td>
                <a
                  href={`${api}/daily-reports/${productionDay}.pdf`}
                  aria-label={`Report of ${productionDay} as PDF`}
                >
                  PDF
                </a>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    )}
  </Part>
);

type Drawn = Glance['diagrams'][number];

/** A collapsed diagram is loaded when it is opened; a visible one at once, so that it can be printed. */
const Diagram = ({
  diagram: { title, about, svg },
  isShown = false,
}: {
  diagram: Drawn;
  isShown?: boolean;
}): VNode => (
  <figure class="diagram">
    <a href={svg}>
      <img
        src={svg}
        alt={`${title}: ${about}`}
        width={1000}
        height={640}
        loading={isShown ? 'eager' : 'lazy'}
      />
    </a>
    <figcaption>{title}</figcaption>
  </figure>
);

export const Diagrams = ({ diagrams }: Glance): VNode => (
  <Part id="diagrams" title="Diagrams">
    <div class="diagrams">
      {diagrams.slice(0, DIAGRAMS_SHOWN).map((diagram) => (
        <Diagram diagram={diagram} isShown />
      ))}
    </div>
    <details>
      <summary>More diagrams</summary>
      <div class="diagrams">
        {diagrams.slice(DIAGRAMS_SHOWN).map((diagram) => (
          <Diagram diagram={diagram} />
        ))}
      </div>
    </details>
  </Part>
);

/** Links to what the page does not show. */
export const ReadOn = ({ api, drive, progress }: WithApi): VNode => (
  <Part id="read-on" title="More of the record" onScreen>
    <form class="inline" action={`${api}/as-built`}>
      <span>As-built record from</span>
      <label>
        <span class="hidden">From chainage</span>
        <input name="from" size={12} value={drive.startChainage} required />
      </label>
      <span>to</span>
      <label>
        <span class="hidden">To chainage</span>
        <input name="to" size={12} value={progress.faceChainage} required />
      </label>
      <span class="buttons">
        <button type="submit" formaction={`${api}/as-built/strip.pdf`}>
          Strip and tables, PDF
        </button>{' '}
        <button type="submit" formaction={`${api}/as-built/strip.svg`}>
          Strip, SVG
        </button>{' '}
        <button type="submit" formaction={`${api}/as-built/tables.xlsx`}>
          Tables, XLSX
        </button>{' '}
        <button type="submit">JSON</button>
      </span>
    </form>
    <ul class="links">
      <li>
        <a href={`${api}/missing-support?lengthM=10`}>Missing support per 10 m</a>
      </li>
      <li>
        <a href={`${api}/support-quantities`}>Support quantities</a>
      </li>
      <li>
        <a href={`${api}/ledger/pareto`}>Lost time</a>
      </li>
      <li>
        <a href={`${api}/shifts`}>Shifts</a>
      </li>
      <li>
        <a href={`${api}/valuations`}>Valuations</a>
      </li>
    </ul>
    <p class="quiet">The last five answers are JSON, as programs read them.</p>
  </Part>
);
