import { type Fault, faulty } from '../../../common/api/problem.js';
import { readRows, type Transaction } from '../../../common/database/database.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { drivenInterval } from '../../../common/drive-interval.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import { metresText } from '../../../engineering/chainage.js';
import type { ClassDecision, ClassDecisionInput } from './class-decision.models.js';

/** A decision as stored. */
export interface ClassDecisionRow {
  fromM: string;
  toM: string;
  groundClassId: number;
  contractorRepresentative: string | null;
  employerRepresentative: string | null;
  remark: string | null;
}

const CLASS = 'select id from ground_class where code = $1 and project_id = scope_project()';

/** @throws ProblemError invalid with every fault of place and class */
export const decisionRow = async (
  transaction: Transaction,
  driveId: number,
  input: ClassDecisionInput,
): Promise<ClassDecisionRow> => {
  const faults: Fault[] = [];
  const note = (pointer: string, value: unknown, detail: string): unknown =>
    faults.push({ in: 'body', pointer, value, detail });
  const { fromMm, toMm } = drivenInterval(input, '', await driveFrame(transaction, driveId), note);
  const [found] = await readRows<{ id: number }>(transaction, CLASS, input.groundClass);
  if (!found) {
    const codes = await codesOf(transaction, 'ground_class');
    note('/groundClass', input.groundClass, unknownCode('ground class', input.groundClass, codes));
  }
  if (faults.length > 0 || !found) throw faulty('invalid', faults);
  return {
    fromM: metresText(fromMm),
    toM: metresText(toMm),
    groundClassId: found.id,
    contractorRepresentative: input.contractorRepresentative ?? null,
    employerRepresentative: input.employerRepresentative ?? null,
    remark: input.remark ?? null,
  };
};

const SAME = `select exists (select from class_decision where drive_id = $1 and number = $2
  and (from_m, to_m, ground_class_id) = ($3::numeric, $4::numeric, $5::int)
  and (contractor_representative, employer_representative, remark) is not distinct from ($6::text, $7::text, $8::text)) as same`;

const PUT = `insert into class_decision (drive_id, number, from_m, to_m, ground_class_id, contractor_representative, employer_representative, remark)
  values ($1, $2, $3::numeric, $4::numeric, $5, $6, $7, $8)
  on conflict (drive_id, number) do update set from_m = excluded.from_m, to_m = excluded.to_m, ground_class_id = excluded.ground_class_id,
    contractor_representative = excluded.contractor_representative, employer_representative = excluded.employer_representative,
    remark = excluded.remark`;

const values = (row: ClassDecisionRow): unknown[] => [
  row.fromM,
  row.toM,
  row.groundClassId,
  row.contractorRepresentative,
  row.employerRepresentative,
  row.remark,
];

/** Whether the existing decision has exactly this content. */
export const saysTheSame = async (
  transaction: Transaction,
  driveId: number,
  number: number,
  row: ClassDecisionRow,
): Promise<boolean> => {
  const [found] = await readRows<{ same: boolean }>(transaction, SAME, driveId, number, ...values(row));
  return found?.same === true;
};

export const storeDecision = async (
  transaction: Transaction,
  driveId: number,
  number: number,
  row: ClassDecisionRow,
): Promise<void> => {
  await transaction.$executeRawUnsafe(PUT, driveId, number, ...values(row));
};

const MET = `select number, state, ground_class_code as "groundClass", chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  metres_within(from_m, to_m, $3::numeric, $4::numeric)::text as "twiceM"
  from class_decision_register where drive_id = $1 and number <> $2 and state <> 'withdrawn' and from_m < $4::numeric and to_m > $3::numeric
  order by from_m limit 20`;

/** No place may have two decisions. The drive is locked, so what is read here stays valid. @throws ProblemError conflict naming each other */
export const assertNoOverlap = async (
  transaction: Transaction,
  driveId: number,
  number: number,
  { from, to }: ClassDecisionInput,
  { fromM, toM }: ClassDecisionRow,
): Promise<void> => {
  const met = await readRows<ClassDecision & { twiceM: string }>(
    transaction,
    MET,
    driveId,
    number,
    fromM,
    toM,
  );
  if (met.length === 0) return;
  throw faulty(
    'overlap',
    met.map((other) => ({
      in: 'body',
      pointer: '/from',
      value: from,
      detail: `${from} to ${to} overlaps class decision ${other.number} (${other.groundClass}, ${other.state}), ${other.from} to ${other.to}: ${other.twiceM} m twice`,
    })),
  );
};
