import type { LineSource, ValuationHead, ValuationLine } from '../valuation.models.js';

/** Sums of the amounts of several lines. [currency] */
export interface Sums {
  previous: string;
  period: string;
  toDate: string;
}

/** A line of the document, from report.valuation_account. */
export type AccountLine = Omit<ValuationLine, 'sourceCount' | 'digest' | 'incompleteCount'> & {
  /** quantity to date as a percentage of that in the bill; null for a rate-only item [%] */
  percentOfBill: string | null;
  groupSums: Sums;
  versionSums: Sums;
  /** sums from the first line to this one */
  carriedSums: Sums;
  incompleteCount: number;
};

/** A record behind a line, from report.valuation_line_source. */
export type Evidence = Omit<LineSource, 'ordinal'> & {
  reference: string;
  /** unit of its quantities */
  baseUnit: string;
  /** total number of records */
  ofAll: number;
};

/** Times are local, to the minute. */
export interface Heading {
  projectName: string;
  driveName: string;
  timeZone: string;
  /** why two persons of one party may sign, if they may */
  oneParty?: string | null;
  preparedAt: string;
  agreedAt?: string | null;
  certifiedAt?: string | null;
}

/** An exported valuation. */
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

/** The lines by version of the bill, and by group within. */
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

/** Whether the groups of a version are shown: not if its only group has no code. */
export const hasGroups = ({ groups }: AccountVersion): boolean =>
  groups.length > 1 || groups[0]?.code != null;
