import { grouped } from '../../../../common/files/grouped.js';
import type { ContestedClass } from '../../../ground/classes/contested-class.model.js';
import type { SignedFor } from '../../../site/parties/signed-for.model.js';
import type { Account, AccountGroup, AccountVersion, Sums } from './account.js';

/** Texts of a valuation, the same on paper and in a workbook. */

export const titleOf = ({ head }: Account): string => `Valuation ${head.number}`;

/** Printed on every page of a valuation that is not certified. */
export const markOf = ({ head }: Account): string | undefined =>
  ({ draft: 'DRAFT', agreed: 'NOT CERTIFIED', certified: undefined })[head.state];

export const placeOf = ({ project, drive }: Account): string => `drive ${drive}, project ${project}`;

const named = (code: string, name: string): string => (name === code ? code : `${code} – ${name}`);

export const projectOf = ({ project, heading }: Account): string => named(project, heading.projectName);

export const driveOf = ({ drive, heading }: Account): string => named(drive, heading.driveName);

export const billOf = ({ versions }: Account): string =>
  versions.length === 0
    ? 'none is in force on the cut-off'
    : versions.map(({ version, validFrom }) => `${version} from ${validFrom}`).join(', ');

export const cutOffOf = ({ head, lines }: Account): string =>
  `${head.cutOff} (countersigned shifts until this date count${isPaidBySilence(lines) ? ', and those paid as deemed accepted' : ''})`;

const isPaidBySilence = (lines: Account['lines']): boolean =>
  lines.some(({ deemedShifts }) => (deemedShifts ?? []).length > 0);

export const stateOf = ({ head }: Account): string =>
  ({
    draft: 'draft: not agreed, not certified',
    agreed: 'agreed by one person, not certified',
    certified: 'certified',
  })[head.state];

export const groupOf = ({ code, title }: AccountGroup): string =>
  code == null ? 'Without group' : title == null ? code : `${code}  ${title}`;

export const groupTotalOf = ({ code }: AccountGroup): string =>
  code == null ? 'Total without group' : `Total of group ${code}`;

export const versionOf = ({ versions }: Account, { version }: AccountVersion): string => {
  const from = versions.find((one) => one.version === version)?.validFrom;
  return `Bill ${version}${from === undefined ? '' : `, for work from ${from} on`}`;
};

export const totalOf = ({ number }: { number: number }): string => `Total of valuation ${number}`;

/** The overall sums, from report.valuation_summary. */
export const sumsOf = ({ head }: Account): Sums => ({
  previous: head.previousAmount,
  period: head.amount,
  toDate: head.toDateAmount,
});

const MOST_NAMED = 8;

export const fewOf = (names: readonly string[]): string => {
  const more = names.length - MOST_NAMED;
  return names.slice(0, MOST_NAMED).join(', ') + (more > 0 ? ` and ${more} more` : '');
};

const namedOf = (account: Account, which: (line: Account['lines'][number]) => boolean): string =>
  fewOf(account.lines.filter(which).map(({ reference }) => reference));

/** Cautions for those who sign. */
export const cautionsOf = (account: Account): string[] => {
  const { head } = account;
  const cautions: string[] = [];
  if (head.state === 'draft')
    cautions.push('DRAFT: measured from the record as it stands, which may change. Not for payment.');
  if (head.state === 'agreed')
    cautions.push('NOT CERTIFIED: agreed by one person; another must certify it. Not for payment.');
  if (head.changedSinceAgreed)
    cautions.push(
      'The record has changed since it was agreed: these are not the lines that were agreed, and it must be agreed again.',
    );
  const open = head.openShiftCount ?? 0;
  if (open > 0)
    cautions.push(
      `${open} ${open === 1 ? 'shift' : 'shifts'} until the cut-off ${open === 1 ? 'is' : 'are'} not countersigned and ${open === 1 ? 'does' : 'do'} not count.`,
    );
  const deemed = head.deemedShiftCount ?? 0;
  if (deemed > 0)
    cautions.push(
      `${deemed} of them ${deemed === 1 ? 'is' : 'are'} deemed accepted, as the other side did not answer in time: that is not a signature.`,
    );
  const silent = namedOf(account, (line) => (line.deemedShifts ?? []).length > 0);
  if (silent !== '')
    cautions.push(
      `By the rule of the contract, quantities of shifts that the other side left unanswered are paid as deemed accepted, without its signature: ${silent}.`,
    );
  const untimed = head.probeHolesWithoutTime ?? [];
  if (untimed.length > 0)
    cautions.push(
      `Probe holes without a time of drilling are in no period and pay nothing: ${fewOf(untimed)}.`,
    );
  const held = namedOf(account, ({ heldQuantity }) => Number(heldQuantity) !== 0);
  if (held !== '')
    cautions.push(
      `Quantities that are disputed, or of a class that is not agreed, are held apart and in no other figure of the item: ${held}.`,
    );
  const contested = namedOf(account, (line) => (line.contested ?? []).length > 0);
  if (contested !== '')
    cautions.push(
      `The class of some records is not agreed; they are paid by the class agreed or noted: ${contested}.`,
    );
  const incomplete = namedOf(account, ({ incompleteCount }) => incompleteCount > 0);
  if (incomplete !== '')
    cautions.push(`Records that lack an input of the item’s rule count as nothing: ${incomplete}.`);
  if (head.signatures === 'one_party') cautions.push(sidesOf(account));
  if (account.lines.length === 0) cautions.push('There are no lines: no bill is in force on the cut-off.');
  return cautions;
};

/** Where the figures end and the contract begins. */
export const LIMITS =
  'Quantities are measured from the record of countersigned shifts, and of shifts paid as deemed accepted where a line says so, by the rules of the bill. The contract decides what is paid.';

/** The classes that do not govern, such as "class decision 3 (disputed, B)". */
export const contestedWords = (contested: readonly ContestedClass[]): string =>
  contested
    .map(({ number, state, groundClass }) =>
      number == null
        ? `note of ${groundClass} (not countersigned)`
        : `class decision ${number} (${state}, ${groundClass})`,
    )
    .join(', ');

export interface Signature {
  role: string;
  who?: string | null;
  when?: string | null;
}

const forParty = (who: string | null | undefined, party: SignedFor | null | undefined): string | undefined =>
  who == null ? undefined : party == null ? who : `${who}, for ${named(party.code, party.name)}`;

/** Whether both sides of the contract signed where two signatures are required; empty until it is certified. */
export const sidesOf = ({ head, heading }: Account): string =>
  head.signatures == null
    ? ''
    : {
        two_parties: 'Agreed and certified by both sides of the contract.',
        one_party:
          `SIGNED BY ONE PARTY: both signatures are of one side of the contract. ${head.certifiedFor?.oneParty ?? heading.oneParty ?? ''}`.trim(),
        parties_not_recorded: 'Signed by two persons; for which parties is not recorded.',
      }[head.signatures];

export const signaturesOf = ({ head, heading }: Account): Signature[] => [
  { role: 'Prepared', who: forParty(head.preparedBy, head.preparedFor), when: heading.preparedAt },
  { role: 'Agreed', who: forParty(head.agreedBy, head.agreedFor), when: heading.agreedAt },
  { role: 'Certified', who: forParty(head.certifiedBy, head.certifiedFor), when: heading.certifiedAt },
];

export const sealOf = ({ head }: Account): string =>
  head.seal == null ? '' : `Seal, SHA-256 over the lines: ${head.seal}`;

export const changeOf = ({ head }: Account): string =>
  head.measuredChange == null
    ? ''
    : `Measured from the record as it stood after change ${head.measuredChange} of its history.`;

export const timesOf = ({ heading }: Account): string => `Times are those of ${heading.timeZone}.`;

export const moneyOf = ({ head }: Account, amount: string): string =>
  `${head.currency ?? ''} ${grouped(amount)}`.trim();
