import { DoubtCode, type DoubtedRecord } from './doubt.models.js';

/** The data for the text of a doubt. */
export interface Doubted {
  doubt: DoubtCode;
  record: DoubtedRecord;
  name: string;
  from: string;
  to: string;
  measured: string;
  limit: string;
  unit: string;
}

/** A figure for display, without trailing zeros. */
const figure = (value: string): string => String(Number(value));

const RECORDS: Record<DoubtedRecord, string> = {
  stroke: 'stroke',
  support: 'support',
  ground: 'ground',
  ground_log: 'ground log',
  overbreak: 'overbreak',
};

const whereOf = ({ from, to }: Doubted): string => (from === to ? `at ${from}` : `from ${from} to ${to}`);

/** A doubt in words, with its figures and its rule. */
export const doubtText = (doubted: Doubted): string => {
  const { doubt, record, name, measured, limit, unit } = doubted;
  const what = `${RECORDS[record]} ${name} ${whereOf(doubted)}`;
  const [is, allowed] = [`${figure(measured)} ${unit}`, `${figure(limit)} ${unit}`];
  switch (doubt) {
    case DoubtCode.ahead_of_face:
      return `${what} reaches ${is} ahead of the face as posted; more than ${allowed} is doubted`;
    case DoubtCode.stroke_longer_than_machine:
      return `${what} is ${is} long, more than ${allowed}`;
    case DoubtCode.thrust_above_rating:
      return `${what}: thrust ${is} exceeds the limit of ${allowed}`;
    case DoubtCode.thrust_too_low:
      return `${what}: thrust ${is} is below the minimum of ${allowed} for boring; check the unit (kN expected)`;
    case DoubtCode.torque_above_rating:
      return `${what}: torque ${is} exceeds the limit of ${allowed}`;
    case DoubtCode.torque_too_low:
      return `${what}: torque ${is} is below the minimum of ${allowed} for boring; check the unit (kNm expected)`;
    case DoubtCode.rate_too_high:
      return `${what}: bored at ${is}, faster than ${allowed}`;
    case DoubtCode.rate_too_low:
      return `${what}: bored at ${is}, slower than ${allowed}`;
    case DoubtCode.quantity_too_high:
      return `${what}: ${is} is above the usual maximum of ${allowed}`;
  }
};
