import { isDeepStrictEqual } from 'node:util';
import type { OpenItem } from '../features/record/open-item.model.js';
import type { SampleUploadReport } from '../features/samples/sample.models.js';
import type { ShiftDocument, ShiftReceipt } from '../features/shifts/shift-document.model.js';
import { DRIVE_PATH, PROJECT_PATH, shiftPath } from './addresses.js';
import { type DemoClient, Refused } from './client.js';
import { machineSamples } from './instruments.js';
import type { DemoShift, Scenario } from './scenario.js';
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

type Tell = (line: string) => void;

/** `kept`: it stands otherwise than the demo has it, as somebody has written it since. */
type Outcome = 'created' | 'replaced' | 'unchanged' | 'kept';

export class Tally {
  private readonly counts = new Map<Outcome, number>();

  add(outcome: Outcome): void {
    this.counts.set(outcome, (this.counts.get(outcome) ?? 0) + 1);
  }

  toString(): string {
    return [...this.counts].map(([outcome, count]) => `${count} ${outcome}`).join(', ');
  }
}

type Entry = Record<string, unknown>;

/** Puts the entries of a list; what each PUT did is seen from the list as it stood before. */
const putList = async (
  client: DemoClient,
  path: string,
  key: string,
  inputs: Record<string, object>,
  tally: Tally,
): Promise<void> => {
  const before = await client.get<Entry[]>(path);
  for (const [code, input] of Object.entries(inputs)) {
    const standing = before.find((entry) => entry[key] === code);
    const answer = await client.put<Entry>(`${path}/${code}`, input);
    tally.add(!standing ? 'created' : isDeepStrictEqual(standing, answer) ? 'unchanged' : 'replaced');
  }
};

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

/** Creates a shift, or finds it as it is; one that stands otherwise is somebody's work and stays. */
const createShift = async (client: DemoClient, { document, ...key }: DemoShift): Promise<Outcome> => {
  try {
    const receipt = await client.put<ShiftReceipt>(shiftPath(key), document, { 'if-none-match': '*' });
    return receipt.outcome;
  } catch (error) {
    if (error instanceof Refused && error.status === 412) return 'kept';
    throw error;
  }
};

/** Submits a shift that had to wait as a draft; one that did not wait is created or found as it is. */
const submitShift = async (client: DemoClient, shift: DemoShift): Promise<Outcome> => {
  const path = shiftPath(shift);
  const standing = await client.find<ShiftDocument>(path);
  if (standing?.body.state !== 'draft' || shift.document.state === 'draft') return createShift(client, shift);
  return (await client.put<ShiftReceipt>(path, shift.document, { 'if-match': standing.etag })).outcome;
};

const asDraft = ({ document, ...key }: DemoShift): DemoShift => ({
  ...key,
  document: { ...document, state: 'draft' },
});

/** Posts all but the late shift: what lies ahead of it cannot be submitted while its metres are missing. */
const postWithoutLate = async (
  client: DemoClient,
  { shifts, late }: Scenario,
  tally: Tally,
): Promise<void> => {
  for (const [index, shift] of shifts.entries())
    if (index !== late) tally.add(await createShift(client, index < late ? shift : asDraft(shift)));
};

const putShifts = async (client: DemoClient, story: Scenario, tell: Tell): Promise<Tally> => {
  const tally = new Tally();
  const { shifts } = story;
  const [late, ...ahead] = shifts.slice(story.late);
  if (!late) throw new Error('the scenario has no late shift');
  const name = `${late.date} ${late.shift}`;
  if (await client.find(shiftPath(late))) {
    for (const shift of shifts) if (!ahead.includes(shift)) tally.add(await createShift(client, shift));
    for (const shift of ahead) tally.add(await submitShift(client, shift));
    tell(`Shift ${name}, the late one, has arrived in an earlier run.`);
    return tally;
  }
  await postWithoutLate(client, story, tally);
  tell(`Shift ${name} is late, so those after it are drafts. GET ${client.url(`${DRIVE_PATH}/open-items`)}:`);
  for (const { detail } of await client.get<OpenItem[]>(`${DRIVE_PATH}/open-items`)) tell(`  - ${detail}`);
  tally.add(await createShift(client, late));
  const submitted = ahead.filter(({ document }) => document.state === 'submitted');
  for (const shift of submitted) tally.add(await submitShift(client, shift));
  tell(`It has arrived and is posted, and the ${submitted.length} drafts that waited for it are submitted.`);
  return tally;
};

/** Sends what the machine's instruments noted in the last shift, a line each. */
const sendSamples = async (client: DemoClient, { shifts }: Scenario): Promise<string> => {
  const lines = shifts
    .slice(-1)
    .flatMap(machineSamples)
    .map((sample) => JSON.stringify(sample));
  const { taken, known } = await client.post<SampleUploadReport>(
    `${DRIVE_PATH}/samples`,
    lines.join('\n'),
    'application/x-ndjson',
  );
  return taken > 0 ? `${taken} taken` : `${known} there already`;
};

/** Loads the invented drive by the REST API; what stands already is found unchanged. */
export const load = async (client: DemoClient, scenario: Scenario, tell: Tell): Promise<void> => {
  const site = await putSite(client);
  tell(`Site       ${site}`);
  const holes = new Tally();
  const inputs = Object.fromEntries(scenario.probeHoles.map(({ name, input }) => [name, input]));
  await putList(client, `${DRIVE_PATH}/probe-holes`, 'name', inputs, holes);
  tell(`Probing    ${holes}`);
  const shifts = await putShifts(client, scenario, tell);
  tell(`Shifts     ${shifts}`);
  tell(`Samples    ${await sendSamples(client, scenario)}`);
};
