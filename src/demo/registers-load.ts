import type { AcceptanceRule } from '../features/driving/acceptance/acceptance.models.js';
import type { AttachmentPage } from '../features/outputs/attachments/attachment.models.js';
import { DRIVE_PATH, PROJECT_PATH } from './addresses.js';
import { type DemoClient, Refused } from './client.js';
import type { Crowd } from './crowd.js';
import { putAheadRules } from './ahead-load.js';
import {
  ACCEPTANCE,
  CLOSURES,
  DISCONTINUITIES,
  ENTITLEMENT,
  NEXT_CALENDAR,
  NOTE,
  OVERBREAK,
  PORTAL,
  ZONES,
} from './registers.js';
import { putList, Tally } from './tally.js';

/** Zones, dated calendars, the section of the portal, water limits and the hold point: before the first shift, which is checked against them. */
export const putSiteRegisters = async (client: DemoClient, people: Crowd): Promise<Tally> => {
  const { bruno, franz, greta } = people;
  const tally = new Tally();
  await putList(bruno, `${PROJECT_PATH}/zones`, 'code', ZONES, tally);
  await bruno.put(`${PROJECT_PATH}/calendars/${NEXT_CALENDAR.validFrom}`, NEXT_CALENDAR.input);
  await putList(bruno, `${PROJECT_PATH}/closures`, 'code', CLOSURES, tally);
  await putList(bruno, `${DRIVE_PATH}/design-sections`, 'name', { [PORTAL.name]: PORTAL.input }, tally);
  await putAheadRules(people, tally);
  // proposed by the administrator; in force once both sides have agreed
  const rule = `${PROJECT_PATH}/acceptance-rules/${ACCEPTANCE.validFrom}`;
  const { inForce } = await client.put<AcceptanceRule>(rule, ACCEPTANCE.input);
  if (!inForce) for (const side of [franz, greta]) await side.post(`${rule}/agree`, ACCEPTANCE.input);
  return tally;
};

/** Measurements at the fault, and the time entitlement under the contract. */
export const putGroundRegisters = async ({ bruno, carla }: Crowd): Promise<Tally> => {
  const tally = new Tally();
  for (const [name, input] of Object.entries(DISCONTINUITIES))
    await carla.put(`${DRIVE_PATH}/discontinuities/${name}`, input);
  for (const [name, input] of Object.entries(OVERBREAK))
    await carla.put(`${DRIVE_PATH}/overbreak/${name}`, input);
  await attachNote(carla).catch(unlessNotConfigured);
  await putList(
    bruno,
    `${DRIVE_PATH}/entitlements`,
    'entitlement',
    { [ENTITLEMENT.name]: ENTITLEMENT.input },
    tally,
  );
  return tally;
};

/** With an external database there may be no folder for files. */
const unlessNotConfigured = (error: unknown): void => {
  if (!(error instanceof Refused && error.status === 503)) throw error;
};

const BOUNDARY = 'drivebook-demo';

/** As `curl -F file=@face-note.txt -F caption=…` sends it. */
const attachNote = async (client: DemoClient): Promise<void> => {
  const path = `${DRIVE_PATH}/attachments`;
  const { items } = await client.get<AttachmentPage>(path);
  if (items.some(({ fileName }) => fileName === NOTE.fileName)) return;
  const fields = Object.entries(NOTE.fields).map(
    ([name, value]) => `--${BOUNDARY}\r\ncontent-disposition: form-data; name="${name}"\r\n\r\n${value}\r\n`,
  );
  const file = `--${BOUNDARY}\r\ncontent-disposition: form-data; name="file"; filename="${NOTE.fileName}"\r\n\r\n${NOTE.text}\r\n--${BOUNDARY}--\r\n`;
  await client.post(path, fields.join('') + file, {
    'content-type': `multipart/form-data; boundary=${BOUNDARY}`,
  });
};
