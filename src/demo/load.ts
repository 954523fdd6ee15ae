import type { OpenItem } from '../features/outputs/record/open-item.model.js';
import type { SampleUploadReport } from '../features/driving/samples/sample.models.js';
import type { ShiftDocument, ShiftReceipt } from '../features/driving/shifts/shift-document.model.js';
import { DRIVE_PATH, PROJECT_PATH, shiftPath } from './addresses.js';
import { putAhead } from './ahead-load.js';
import { type DemoClient, Refused } from './client.js';
import type { DemoIssuer } from './issuer.js';
import { machineSamples } from './instruments.js';
import { putContract } from './contract-load.js';
import { type Crowd, crowd, putPeople } from './crowd.js';
import { decide } from './decide.js';
import { putGroundRegisters, putSiteRegisters } from './registers-load.js';
import { CORRECTION, CUT_OFF } from './contract.js';
import { type DemoShift, corrected, type Scenario } from './scenario.js';
import { type Outcome, putList, Tally, type Tell } from './tally.js';
import {
  ACTIVITY_CODES,
  CALENDAR_SHIFTS,
  DRIVE,
  EQUIPMENT,
  GROUND_CLASSES,
  MACHINE,
  PROJECT,
  SUPPORT_ITEMS,
} from './site.js';

const putSite = async (client: DemoClient): Promise<Tally> => {
  const tally = new Tally();
  await putList(client, '/v1/projects', 'code', { [PROJECT.code]: PROJECT.input }, tally);
  const list = (name: string, key: string, inputs: Record<string, object>): Promise<void> =>
    putList(client, `${PROJECT_PATH}/${name}`, key, inputs, tally);
  await list('calendar-shifts', 'name', CALENDAR_SHIFTS);
  await list('activity-codes', 'code', ACTIVITY_CODES);
  await list('equipment', 'code', EQUIPMENT);
  await list('ground-classes', 'code', GROUND_CLASSES);
  await list('support-items', 'code', SUPPORT_ITEMS);
  await list('machines', 'code', { [MACHINE.code]: MACHINE.input });
  await list('drives', 'code', { [DRIVE.code]: DRIVE.input });
  return tally;
};

/** Puts a shift that does not exist yet, or is still as the demo left it; one that differs is somebody's work and stays. */
const putShift = async (
  people: Crowd,
  { document, ...key }: DemoShift,
): Promise<ShiftReceipt | undefined> => {
  try {
    return await people.anna.put<ShiftReceipt>(shiftPath(key), document);
  } catch (error) {
    if (error instanceof Refused && error.status === 428) return undefined;
    throw error;
  }
};

const isCorrected = ({ date, shift }: DemoShift): boolean =>
  date === CORRECTION.date && shift === CORRECTION.shift;

/** The contractor's engineer posts a shift; the supervisor countersigns it if the valuations count it. */
const createShift = async (people: Crowd, shift: DemoShift): Promise<Outcome> => {
  const receipt =
    (await putShift(people, shift)) ??
    (isCorrected(shift) ? await putShift(people, corrected(shift)) : undefined);
  if (!receipt) return 'kept';
  if (receipt.state === 'submitted' && shift.date <= CUT_OFF[2])
    await people.dario.post(`${shiftPath(shift)}/countersign`, undefined, { 'if-match': receipt.etag });
  return receipt.outcome;
};

/** Submits a shift that had to wait as a draft; other shifts are created, or found as they are. */
const submitShift = async (people: Crowd, shift: DemoShift): Promise<Outcome> => {
  const path = shiftPath(shift);
  const standing = await people.anna.find<ShiftDocument>(path);
  if (standing?.body.state !== 'draft' || shift.document.state === 'draft') return createShift(people, shift);
  const { anna } = people;
  return (await anna.put<ShiftReceipt>(path, shift.document, { 'if-match': standing.etag })).outcome;
};

const asDraft = ({ document, ...key }: DemoShift): DemoShift => ({
  ...key,
  document: { ...document, state: 'draft' },
});

/** Posts all but the late shift: those after it cannot be submitted while its metres are missing. */
const postWithoutLate = async (people: Crowd, { shifts, late }: Scenario, tally: Tally): Promise<void> => {
  for (const [index, shift] of shifts.entries())
    if (index !== late) tally.add(await createShift(people, index < late ? shift : asDraft(shift)));
};

const putShifts = async (client: DemoClient, people: Crowd, story: Scenario, tell: Tell): Promise<Tally> => {
  const tally = new Tally();
  const { shifts } = story;
  const [late, ...ahead] = shifts.slice(story.late);
  if (!late) throw new Error('the scenario has no late shift');
  const name = `${late.date} ${late.shift}`;
  if (await client.find(shiftPath(late))) {
    for (const shift of shifts) if (!ahead.includes(shift)) tally.add(await createShift(people, shift));
    for (const shift of ahead) tally.add(await submitShift(people, shift));
    tell(`Shift ${name}, the late one, has arrived in an earlier run.`);
    return tally;
  }
  await postWithoutLate(people, story, tally);
  tell(`Shift ${name} is late, so those after it are drafts. GET ${client.url(`${DRIVE_PATH}/open-items`)}:`);
  for (const { detail } of await client.get<OpenItem[]>(`${DRIVE_PATH}/open-items`)) tell(`  - ${detail}`);
  tally.add(await createShift(people, late));
  const submitted = ahead.filter(({ document }) => document.state === 'submitted');
  for (const shift of submitted) tally.add(await submitShift(people, shift));
  tell(`It has arrived and is posted, and the ${submitted.length} drafts that waited for it are submitted.`);
  return tally;
};

/** Sends the machine samples of the last shift, one line each, unless their month was taken out of the record since. */
const sendSamples = async (people: Crowd, { shifts }: Scenario): Promise<string> => {
  const lines = shifts
    .slice(-1)
    .flatMap(machineSamples)
    .map((sample) => JSON.stringify(sample));
  try {
    const { taken, known } = await people.bruno.post<SampleUploadReport>(
      `${DRIVE_PATH}/samples`,
      lines.join('\n'),
      { 'content-type': 'application/x-ndjson' },
    );
    return taken > 0 ? `${taken} taken` : `${known} there already`;
  } catch (error) {
    if (error instanceof Refused && error.status === 409) return 'kept out: their month is retired';
    throw error;
  }
};

/** Loads the invented drive by the REST API; existing records are found unchanged. */
export const load = async (
  client: DemoClient,
  issuer: DemoIssuer,
  scenario: Scenario,
  tell: Tell,
): Promise<void> => {
  const site = await putSite(client);
  tell(`Site       ${site}`);
  tell(`People     ${await putPeople(client, scenario.shifts)}`);
  const people = await crowd(client, issuer);
  tell(`Contract   ${await putContract(people)}`);
  tell(`Rules      ${await putSiteRegisters(client, people)}`);
  const holes = new Tally();
  const inputs = Object.fromEntries(scenario.probeHoles.map(({ name, input }) => [name, input]));
  await putList(people.anna, `${DRIVE_PATH}/probe-holes`, 'name', inputs, holes);
  tell(`Probing    ${holes}`);
  const shifts = await putShifts(client, people, scenario, tell);
  tell(`Shifts     ${shifts}`);
  tell(`Samples    ${await sendSamples(people, scenario)}`);
  tell(`Registers  ${await putGroundRegisters(people)}`);
  tell(`Ahead      ${await putAhead(people)}`);
  await decide(people, scenario, tell);
};
