import type { VNode } from 'preact';
import { Page, PAGE_STYLE } from '../../../common/html/page.js';
import { Ahead, Alerts, Days, Diagrams, OpenItems, ReadOn } from './drive-parts.js';
import { DriveStrip } from './drive-strip.js';
import { Foot, Head, Part } from './frame.js';
import type { Glance } from './glance.js';
import { aheadInWords, day, metres, moment } from './words.js';

const Face = ({ progress, drive, project: { timeZone } }: Glance): VNode => (
  <div class="tile">
    <h3>Face</h3>
    <p class="figure">{progress.faceChainage}</p>
    <p>
      {metres(progress.faceM)} driven of {metres(drive.lengthM)}
    </p>
    <p class="quiet">
      {progress.lastBoredAt == null
        ? 'nothing bored yet'
        : `last boring ended ${moment(progress.lastBoredAt, timeZone)}`}
    </p>
    {Number(progress.missingM) > 0 && (
      <p class="warn">{metres(progress.missingM)} behind the face not recorded as bored</p>
    )}
    {Number(progress.untimedM) > 0 && (
      <p class="quiet">{metres(progress.untimedM)} of it bored without times</p>
    )}
  </div>
);

/** Each is shown beside the largest advance in any window of the same length. */
const COMPARED = [
  { title: 'Last 24 h', best: 'best 24 h' },
  { title: 'Last 7 days', best: 'best 7 days' },
] as const;

const Windows = ({ windows, best, project: { timeZone } }: Glance): VNode => (
  <>
    {windows.map((window, index) => {
      const compared = COMPARED[index];
      if (!compared) return null;
      const found = best[index];
      return (
        <div class="tile">
          <h3>{compared.title}</h3>
          <p class="figure">{metres(window.advanceM)}</p>
          {found && (
            <>
              <meter
                min={0}
                max={Number(found.advanceM)}
                value={Number(window.advanceM)}
                aria-label={`${compared.title} against the ${compared.best}`}
              />
              <p>
                {compared.best} {metres(found.advanceM)}
                {`, to ${moment(found.to, timeZone)}`}
              </p>
            </>
          )}
          <p class="quiet">
            {`${window.strokeCount} strokes, ${window.fromChainage} to ${window.toChainage}; to ${moment(window.to, timeZone)}`}
          </p>
        </div>
      );
    })}
  </>
);

const Programmes = ({ programmes }: Glance): VNode => (
  <>
    {programmes.length === 0 && (
      <div class="tile">
        <h3>Programme</h3>
        <p>No programme is entered for this drive.</p>
      </div>
    )}
    {programmes.map(({ programme, days: [last, before] }) => (
      <div class="tile">
        <h3>Programme {programme}</h3>
        {last?.aheadM == null ? (
          <p>It does not cover any recorded day.</p>
        ) : (
          <>
            <p class="figure">{aheadInWords(last.aheadM)}</p>
            <p>
              {`planned ${last.plannedChainage ?? ''}, face ${last.actualChainage ?? ''} at the end of ${day(last.productionDay)}`}
            </p>
            {before?.aheadM != null && (
              <p class="quiet">{`a week earlier, ${day(before.productionDay)}: ${aheadInWords(before.aheadM)}`}</p>
            )}
          </>
        )}
      </div>
    ))}
  </>
);

/** The drive at a glance. */
export const drivePage = (glance: Glance): VNode => {
  const { project, drive, reader, now } = glance;
  const api = `/v1/projects/${project.code}/drives/${drive.code}`;
  return (
    <Page title={`${drive.code} ${drive.name}`} styles={[PAGE_STYLE, 'drive.css']} scripts={['follow.js']}>
      <Head reader={reader}>
        <p class="where">{project.name}</p>
      </Head>
      <main
        id="main"
        {...(reader.mayFollow
          ? { 'data-changes': `/v1/projects/${project.code}/changes?drive=${drive.code}` }
          : { 'data-poll': `${api}/progress` })}
      >
        <div class="title">
          <h1>
            {drive.name} <span class="code">{drive.code}</span>
          </h1>
          <p class="quiet">
            As of <time datetime={now.toISOString()}>{moment(now, project.timeZone)}</time> (
            {project.timeZone})
          </p>
        </div>
        <p id="news" class="notice" role="status" hidden />
        <DriveStrip drive={drive} progress={glance.progress} cover={glance.cover} />
        <Part id="advance" title="Advance">
          {glance.endsWithRecord && (
            <p class="notice">
              Nothing was bored in the last 7 days: the periods below end with the last boring.
            </p>
          )}
          <div class="tiles">
            <Face {...glance} />
            <Windows {...glance} />
            <Programmes {...glance} />
          </div>
        </Part>
        <div class="columns">
          <div>
            <Ahead {...glance} />
            <OpenItems {...glance} api={api} />
          </div>
          <div>
            <Alerts {...glance} />
            <Days {...glance} api={api} />
          </div>
        </div>
        <Diagrams {...glance} />
        <ReadOn {...glance} api={api} />
      </main>
      <Foot />
    </Page>
  );
};
