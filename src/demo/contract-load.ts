import type { Bill } from '../features/payment/bills/bill.models.js';
import type { StandardSupport } from '../features/support/support-standard/standard.models.js';
import { DRIVE_PATH, PROJECT_PATH } from './addresses.js';
import type { Crowd } from './crowd.js';
import { BASELINE, BILL, PROGRAMME } from './contract.js';
import { PROBE_REQUIREMENTS } from './probing.js';
import { LIMITS, STANDARDS } from './standards.js';
import { Tally } from './tally.js';

type Entry = Record<string, unknown>;

/** Enters baseline, programme, standards and the bill with its rules. Existing ones are left as they are: payment depends on them. */
export const putContract = async (people: Crowd): Promise<Tally> => {
  const tally = new Tally();
  const { bruno, franz } = people;
  const unlessThere = async (isThere: boolean, put: () => Promise<unknown>): Promise<void> => {
    if (!isThere) await put();
    tally.add(isThere ? 'unchanged' : 'created');
  };
  const plan = async (name: string, key: string, { code, input }: typeof BASELINE | typeof PROGRAMME) => {
    const path = `${DRIVE_PATH}/${name}`;
    const there = await bruno.get<Entry[]>(path);
    await unlessThere(
      there.some((entry) => entry[key] === code),
      () => bruno.put(`${path}/${code}`, input),
    );
  };
  await plan('baselines', 'baseline', BASELINE);
  await plan('programmes', 'programme', PROGRAMME);

  const standards = await bruno.get<StandardSupport[]>(`${PROJECT_PATH}/standard-support`);
  for (const { groundClass, input } of STANDARDS)
    await unlessThere(
      standards.some(
        (one) => one.groundClass === groundClass && (one.revision ?? undefined) === input.revision,
      ),
      () => bruno.put(`${PROJECT_PATH}/ground-classes/${groundClass}/standard-support`, input),
    );
  const limits = `${DRIVE_PATH}/support-limits`;
  await unlessThere((await bruno.get<{ revisions: Entry[] }>(limits)).revisions.length > 0, () =>
    bruno.put(limits, LIMITS),
  );

  const probing = `${DRIVE_PATH}/probe-requirements`;
  await unlessThere((await bruno.get<{ revisions: Entry[] }>(probing)).revisions.length > 0, () =>
    bruno.put(probing, PROBE_REQUIREMENTS),
  );

  const bill = `${DRIVE_PATH}/bills/${BILL.code}`;
  await unlessThere((await franz.find<Bill>(bill)) !== undefined, () => franz.put(bill, BILL.input));
  const rules = await franz.get<Entry[]>(`${bill}/rules`);
  for (const [reference, rule] of Object.entries(BILL.rules))
    await unlessThere(
      rules.some((entry) => entry['reference'] === reference),
      () => franz.put(`${bill}/rules/${reference}`, rule),
    );
  return tally;
};
