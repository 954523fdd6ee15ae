import type { LineSource, ValuationHead, ValuationLine } from '../valuation.models.js';

/** Amounts of several lines together. [currency] */
export interface Sums {
  previous: string;
  period: string;
  toDate: string;
}

/** A line as it is paid by, from report.valuation_account. */
export type AccountLine = Omit<ValuationLine, 'sourceCount' | 'digest' | 'incompleteCount'> & {
  /** quantity to date of that of the bill; null where the bill has only a rate [%] */
  percentOfBill: string | null;
  groupSums: Sums;
  versionSums: Sums;
  /** from the first line to this one */
  carriedSums: Sums;
  incompleteCount: number;
};

/** A record behind a line, from report.valuation_line_source. */
export type Evidence = Omit<LineSource, 'ordinal'> & {
  reference: string;
  /** in which its quantities are */
  baseUnit: string;
  /** how many there are */
  ofAll: number;
};

/** Times are the project's, to the minute. */
export interface Heading {
  projectName: string;
  driveName: string;
  timeZone: string;
  /** why two persons of one party may sign, where they may */
  oneParty?: string | null;
  preparedAt: string;
  agreedAt?: string | null;
  certifiedAt?: string | null;
}

/** A valuation as it is exported. */
export interface Account {
  project: string;
  drive: string;
  head: ValuationHead;
  heading: Heading;
  versions: { version: string; validFrom: string }[];
  lines: AccountLine[];
}

export interface AccountGroup {
  code?: string | null;
  title?: string | null;
  sums: Sums;
  lines: AccountLine[];
}

export interface AccountVersion {
  version: string;
  sums: Sums;
  groups: AccountGroup[];
}

/** The lines under their groups, and those under their versions of the bill. */
export const versionsOf = (lines: AccountLine[]): AccountVersion[] => {
  const versions: AccountVersion[] = [];
  for (const line of lines) {
    let version = versions.at(-1);
    if (version?.version !== line.version) {
      version = { version: line.version, sums: line.versionSums, groups: [] };
      versions.push(version);
    }
    const group = version.groups.at(-1);
    if (group && (group.code ?? null) === (line.groupCode ?? null)) group.lines.push(line);
    else
      version.groups.push({
        code: line.groupCode,
        title: line.groupTitle,
        sums: line.groupSums,
        lines: [line],
      });
  }
  return versions;
};

/** Whether the groups of a version are shown: one without a code is all there is to it. */
export const hasGroups = ({ groups }: AccountVersion): boolean =>
  groups.length > 1 || groups[0]?.code != null;
