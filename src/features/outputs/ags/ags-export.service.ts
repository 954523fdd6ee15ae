import { Injectable } from '@nestjs/common';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { ABBR, CLASSES, GROUPS, HEAD, PROJ, TRAN, TYPE, UNIT } from './ags-groups.js';
import { type AgsGroup, type AgsRow, agsText } from './ags-text.js';
import { ABBR_WORDS, TYPE_WORDS, UNIT_WORDS } from './ags-words.js';
import type { AgsIssue } from './ags.models.js';

interface Head {
  project: string;
  projectName: string;
  drive: string;
  driveName: string;
  date: string;
  client: string | null;
  contractor: string | null;
  designer: string | null;
}

const NOT_STATED = 'Not stated';

/** The ground of a drive as a file of AGS 4.1.1. */
@Injectable()
export class AgsExportService {
  constructor(private readonly drives: DriveReader) {}

  /** @throws ProblemError not_found naming the drive */
  file(drive: string, issue: AgsIssue): Promise<string> {
    return this.drives.reading(drive, async (id, statements) => {
      const [[head], classes, ...rows] = await Promise.all([
        readRows<Head>(statements, HEAD, id),
        readRows<{ code: string; description: string }>(statements, CLASSES),
        ...GROUPS.map(({ sql }) => readRows<AgsRow>(statements, sql, id)),
      ]);
      if (!head) throw new Error(`drive ${drive} is gone`);
      const record = GROUPS.map(({ name, headings }, index) => ({ name, headings, rows: rows[index] ?? [] }));
      return agsText(
        whole(head, issue, record, new Map(classes.map((each) => [each.code, each.description]))),
      );
    });
  }
}

/** The groups of the file: those of the record, and those that define what it uses (rules 13 to 17). */
const whole = (head: Head, issue: AgsIssue, record: AgsGroup[], classes: Map<string, string>): AgsGroup[] => {
  const said = [
    { name: 'PROJ', headings: PROJ, rows: [projRow(head)] },
    { name: 'TRAN', headings: TRAN, rows: [tranRow(head, issue)] },
    { name: 'ABBR', headings: ABBR, rows: abbrRows(record, classes) },
  ];
  const used = [...said, ...record.filter(({ rows }) => rows.length > 0)];
  const listed = (
    name: string,
    headings: typeof TYPE,
    codes: string[],
    words: Record<string, string>,
  ): AgsGroup => {
    const [code = '', desc = ''] = headings.map((heading) => heading.name);
    return { name, headings, rows: codes.map((each) => ({ [code]: each, [desc]: words[each] ?? each })) };
  };
  const all = used.flatMap(({ headings }) => headings);
  const types = distinct([...all, ...TYPE, ...UNIT].map(({ type }) => type));
  const units = distinct(all.map(({ unit }) => unit).filter((unit) => unit !== ''));
  return [
    ...said,
    listed('TYPE', TYPE, types, TYPE_WORDS),
    listed('UNIT', UNIT, units, UNIT_WORDS),
    ...record,
  ];
};

const distinct = (texts: string[]): string[] => [...new Set(texts)].toSorted();

const projRow = ({ project, projectName, client, contractor, designer }: Head): AgsRow => ({
  PROJ_ID: project,
  PROJ_NAME: projectName,
  PROJ_CLNT: client,
  PROJ_CONT: contractor,
  PROJ_ENG: designer,
});

const tranRow = ({ drive, driveName, date, contractor, client }: Head, issue: AgsIssue): AgsRow => ({
  TRAN_ISNO: issue.issue ?? '1',
  TRAN_DATE: date,
  TRAN_PROD: issue.producer ?? contractor ?? NOT_STATED,
  TRAN_STAT: issue.status ?? 'Draft',
  TRAN_DESC: `Probe holes, water tests, ground and discontinuities of drive ${drive}, ${driveName}`,
  TRAN_AGS: '4.1.1',
  TRAN_RECV: issue.recipient ?? client ?? NOT_STATED,
  TRAN_DLIM: '|',
  TRAN_RCON: '+',
  TRAN_REM:
    'Depths are to the millimetre; along the drive they are driven metres. Letters outside ASCII are respelt.',
});

/** Each code of type PA once, with its meaning. */
const abbrRows = (record: AgsGroup[], classes: Map<string, string>): AgsRow[] =>
  record.flatMap(({ headings, rows }) =>
    headings
      .filter(({ type }) => type === 'PA')
      .flatMap(({ name }) =>
        distinct(rows.map((row) => row[name] ?? '').filter((code) => code !== '')).map((code) => ({
          ABBR_HDNG: name,
          ABBR_CODE: code,
          ABBR_DESC: (name === 'GEOL_GEOL' ? classes.get(code) : ABBR_WORDS[name]?.[code]) ?? code,
        })),
      ),
  );
