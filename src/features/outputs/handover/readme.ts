import type { Chain } from './chain.js';
import { LEFT_OUT } from './record-copy.js';

export interface Described {
  project: string;
  projectName: string;
  drive?: string;
  madeAt: string;
  version: string;
  timeZone: string;
  currency: string;
  chain: Chain;
  /** months of machine samples that are not included */
  missing: readonly string[];
}

/** Lines of text with line ends that any program can display. */
const text = (...lines: string[]): string => lines.join('\r\n') + '\r\n';

/** README.txt of a package. */
export const readme = ({
  project,
  projectName,
  drive,
  madeAt,
  version,
  timeZone,
  currency,
  chain,
  missing,
}: Described): string =>
  text(
    `${projectName} (project ${project}${drive === undefined ? '' : `, drive ${drive}`})`,
    'Record of a tunnel bored by a gripper tunnel boring machine',
    '',
    `Written by Drivebook ${version}. It is the record as it stood at ${madeAt} (UTC).`,
    `Time zone of the site: ${timeZone}. Currency: ${currency}.`,
    '',
    'Nothing but programs that show text, tables (CSV) and PDF is needed to read it.',
    '',
    'WHAT IS WHERE',
    '',
    'facts/          The record as tables: what was bored, when, in what ground, with what support, what was measured and paid; each as CSV, and as',
    '                Parquet for programs.',
    '                dictionary.md says of every table what a row is, and of every column what it means and its unit.',
    'samples/        The raw machine data by drive and month, as Parquet; dictionary.md says what the columns mean. Without such data there is no folder.',
    'shifts/         A document for each shift, by drive and date, with every version of it: who wrote it, when and why.',
    'papers/         Daily reports by month, the as-built record by kilometre, and valuations, as PDF/A-1b.',
    'attachments/    Photos and notes. Each is named by its digest; index.csv says what each is and where it belongs.',
    'docs/           calculations.md says how each figure is computed and from which source; glossary.md explains the words;',
    '                openapi.json and schema.gql describe the interface of the service, by which the documents in shifts/ are formed.',
    'audit/          The history as a chain: chain.ndjson has a line for each change of the record.',
    ...(drive === undefined
      ? [
          '                rows.ndjson has the versions of rows that each change added or removed.',
          'record/         The rows of the service\'s own tables. "drivebook restore" reads them into a new, empty service.',
        ]
      : [
          '                The rows of the changes, and what a service needs to go on with the record, are in the package of the project.',
        ]),
    'manifest.json   Every file with its length in bytes, its digest (SHA-256) and its rows. SHA256SUMS says the same for "sha256sum -c SHA256SUMS".',
    'verify.mjs      Checks all of it. It needs Node.js and nothing else: node verify.mjs',
    '',
    'A position in a drive is given as chainage, in metres along the axis, and as metres driven since the start ("_m" at the end of a name means metres).',
    'Support, probing and water figures are a record of what was entered and what follows from it. They do not replace the judgement of the responsible',
    'engineer or the rules that apply where the tunnel is.',
    '',
    'HOW TO CHECK IT',
    '',
    '1. Run: node verify.mjs. It compares each file with the manifest, counts the rows, and computes the chain of the history anew.',
    '2. Compare the digest of manifest.json and the head of the history, which it prints, with those noted when the package was handed over.',
    '   If they were noted elsewhere, they show that nothing has changed since; the package alone cannot show that somebody replaced all of it.',
    '',
    `Head of the history: entry ${chain.head.number}, hash ${chain.head.hash}.`,
    'The hash of an entry is the SHA-256 of the 32 bytes of the hash before it (nothing for the first) and the text "sealed" in UTF-8. In that text, "content" is the',
    'SHA-256 of the row versions of the entry: for each table by name, its name on a line, then its lines sorted by bytes, each ended by a line feed.',
    '',
    'WHAT IS NOT IN IT',
    '',
    'Hashes of API keys; sessions and signing secrets, which the database does not hold; and:',
    ...Object.values(LEFT_OUT).map((what) => `- ${what}`),
    ...(missing.length > 0
      ? [`- machine samples of months that were taken out of the record before: ${missing.join(', ')}`]
      : []),
    ...(chain.withheld.length > 0
      ? [
          `Entries ${chain.withheld.join(', ')} of the history made or changed API keys. Their hashes are withheld, so that the content of these entries cannot be computed anew; their place in`,
          'the chain can.',
        ]
      : []),
    'Decisions on paper, e-mails and whatever else was never entered.',
  );
