import type { ClassDecision, ClassDecisionPage } from '../features/ground/classes/class-decision.models.js';
import type { GroundLog, GroundLogPage } from '../features/ground/ground-logs/ground-log.models.js';
import type { ShiftDocument, ShiftReceipt } from '../features/driving/shifts/shift-document.model.js';
import type { ValuationHead } from '../features/payment/valuations/valuation.models.js';
import { DRIVE_PATH, shiftPath } from './addresses.js';
import type { DemoClient } from './client.js';
import { CORRECTION, CUT_OFF, LUMP_PROGRESS } from './contract.js';
import type { Crowd } from './crowd.js';
import { DECISIONS, DISPUTE, GROUND_LOGS, GOVERNING_LOG } from './decided.js';
import { corrected, type Scenario } from './scenario.js';
import type { Tell } from './tally.js';

/** What two parties find and sign. Each step is taken unless it stands: a run that was stopped goes on from there. */

const logGround = async (people: Crowd): Promise<void> => {
  const path = `${DRIVE_PATH}/ground-logs`;
  const { items: there } = await people.carla.get<GroundLogPage>(path);
  for (const { name, by, input } of GROUND_LOGS)
    if (!there.some((log) => log.name === name)) await people[by].put(`${path}/${name}`, input);
  const { name, proposedBy, agreedBy, reason } = GOVERNING_LOG;
  const { governing } = await people.carla.get<GroundLog>(`${path}/${name}`);
  if (!governing) await people[proposedBy].post(`${path}/${name}/propose-as-governing`, { reason });
  if (governing?.state !== 'agreed') await people[agreedBy].post(`${path}/${name}/agree-as-governing`);
};

const decisionPath = (number: number): string => `${DRIVE_PATH}/class-decisions/${number}`;

const standing = async (client: DemoClient, number: number): Promise<ClassDecision> =>
  client.get<ClassDecision>(decisionPath(number));

const agree = async ({ dario }: Crowd, number: number): Promise<void> => {
  const { state, etag } = await standing(dario, number);
  if (state === 'proposed' || state === 'disputed')
    await dario.post(`${decisionPath(number)}/agree`, {}, { 'if-match': etag });
};

const proposeAndDispute = async (people: Crowd): Promise<void> => {
  const { items } = await people.bruno.get<ClassDecisionPage>(`${DRIVE_PATH}/class-decisions`);
  for (const { number, by, input } of DECISIONS)
    if (!items.some((decision) => decision.number === number))
      await people[by].put(decisionPath(number), input);
  await agree(people, 1);
  const { number, by, reason } = DISPUTE;
  const { state, disputedBy, etag } = await standing(people[by], number);
  if (state === 'proposed' && !disputedBy)
    await people[by].post(`${decisionPath(number)}/dispute`, { reason }, { 'if-match': etag });
};

const valuationPath = (number: number): string => `${DRIVE_PATH}/valuations/${number}`;

const valued = async ({ franz }: Crowd, number: keyof typeof CUT_OFF): Promise<ValuationHead> => {
  const head = (await franz.get<ValuationHead[]>(`${DRIVE_PATH}/valuations`)).find(
    (each) => each.number === number,
  );
  if (head && head.state !== 'draft' && !head.changedSinceAgreed) return head;
  await franz.put(valuationPath(number), { cutOff: CUT_OFF[number] });
  return franz.post<ValuationHead>(`${valuationPath(number)}/agree`);
};

/** The supervisor reopens the shift, the contractor corrects it, and the supervisor countersigns it again. */
const correct = async ({ anna, dario }: Crowd, { shifts }: Scenario): Promise<void> => {
  const posted = shifts.find(({ date, shift }) => date === CORRECTION.date && shift === CORRECTION.shift);
  if (!posted) throw new Error('the scenario has no shift to correct');
  const path = shiftPath(posted);
  const found = await anna.find<ShiftDocument>(path);
  if (found?.body.support.some(({ remark }) => remark === CORRECTION.reason)) return;
  let etag = found?.etag ?? '';
  if (found?.body.state === 'countersigned') {
    const { reason } = CORRECTION;
    const reopened = await dario.post<ShiftReceipt>(`${path}/reopen`, { reason }, { 'if-match': etag });
    ({ etag } = reopened);
  }
  const { document } = corrected(posted);
  ({ etag } = await anna.put<ShiftReceipt>(path, document, { 'if-match': etag }));
  await dario.post(`${path}/countersign`, undefined, { 'if-match': etag });
};

const sumOf = ({ cutOff, amount, currency }: ValuationHead): string =>
  `to ${cutOff}, ${currency ?? ''} ${amount}`;

/** Ground logs, class decisions, two valuations and a correction between them. */
export const decide = async (people: Crowd, story: Scenario, tell: Tell): Promise<void> => {
  await logGround(people);
  await proposeAndDispute(people);
  for (const { day, input } of LUMP_PROGRESS)
    await people.franz.put(`${DRIVE_PATH}/lump-progress/SETUP/${day}`, input);
  tell(`Signed     the shifts to ${CUT_OFF[1]}: posted by anna, countersigned by dario for the supervisor`);
  const first = await valued(people, 1);
  if (first.state === 'agreed') await people.greta.post(`${valuationPath(1)}/certify`);
  tell(
    `Valuation  1, ${sumOf(first)}: agreed by franz for the contractor, certified by greta for the client`,
  );
  await agree(people, 2);
  await correct(people, story);
  const { date, shift, fewer, item } = CORRECTION;
  tell(
    `Corrected  ${date} ${shift}, ${fewer} ${item} fewer: reopened by dario, posted again by anna, countersigned by dario`,
  );
  const second = await valued(people, 2);
  tell(`Valuation  2, ${sumOf(second)}, less what was corrected: agreed by franz; greta may certify it`);
};
