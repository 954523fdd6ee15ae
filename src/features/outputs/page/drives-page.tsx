import type { VNode } from 'preact';
import { Page, PAGE_STYLE } from '../../../common/html/page.js';
import type { ListedDrive } from './glance.js';
import { Foot, Head } from './frame.js';
import { metres } from './words.js';

export const drivePath = (project: string, drive: string): string => `/projects/${project}/drives/${drive}`;

/** The drives among which the reader can choose. */
export const drivesPage = (listed: ListedDrive[], reader: { subject: string; isLocal: boolean }): VNode => (
  <Page title="Drives" styles={[PAGE_STYLE, 'drive.css']}>
    <Head reader={reader} />
    <main id="main">
      <h1>Drives</h1>
      {listed.length === 0 ? (
        <p>There are no drives that you may read. Ask an administrator of the project for a role.</p>
      ) : (
        <div class="scroll" role="region" aria-label="Drives" tabindex={0}>
          <table>
            <thead>
              <tr>
                <th scope="col">Project</th>
                <th scope="col">Drive</th>
                <th scope="col" class="number">
                  From
                </th>
                <th scope="col" class="number">
                  To
                </th>
                <th scope="col" class="number">
                  Length
                </th>
              </tr>
            </thead>
            <tbody>
              {listed.map(({ project, drive }) => (
                <tr>
                  <td>{project.name}</td>
                  <th scope="row">
                    <a href={drivePath(project.code, drive.code)}>{`${drive.code} ${drive.name}`}</a>
                  </th>
                  <td class="number">{drive.startChainage}</td>
                  <td class="number">{drive.endChainage}</td>
                  <td class="number">{metres(drive.lengthM)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </main>
    <Foot />
  </Page>
);
