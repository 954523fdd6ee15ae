import { type Permission, PERMISSIONS, type Role, ROLE_PERMISSIONS, ROLES } from './permissions.js';

/** What each permission allows, for docs/security.md. */
const MEANING: Record<Permission, string> = {
  'record.read': 'read the record and its reports',
  'history.read': 'read the history',
  'shift.write': 'post, submit and remove shifts',
  'shift.countersign': 'countersign and dispute shifts',
  'shift.reopen': 'reopen shifts',
  'probing.write': 'enter probe holes, indications and what was met, water, grouting',
  'hold_point.write': 'set hold points',
  'hold_point.release': 'release hold points, for their side; withdraw releases',
  'alert.acknowledge': 'acknowledge alerts',
  'geology.write': 'enter ground logs, discontinuities, overbreak',
  'class.propose': 'propose class decisions and governing logs',
  'class.agree': 'agree to, dispute and withdraw class decisions; governing logs',
  'attachment.write': 'attach photos and notes',
  'strokes.import': 'import strokes',
  'samples.write': 'upload machine samples',
  'notice.write': 'enter notices, when they were sent and answered',
  'catalogue.write': 'calendar, codes, classes, items, drives, programmes, …',
  'project.write': 'the project itself, its parties and rules of acceptance',
  'members.read': 'read members',
  'members.write': 'set members and the parties they act for',
  'keys.read': 'list API keys',
  'keys.write': 'create and revoke API keys',
  'webhooks.read': 'list webhooks and what was sent to them',
  'webhooks.write': 'set webhooks, make their secrets, send again',
  'jobs.read': 'list the jobs of others and take their results',
  'jobs.write': 'ask for handover packages, cancel and remove jobs of others',
  'bill.write': 'bills and measurement rules',
  'valuation.write': 'draft valuations; lump sum progress',
  'valuation.agree': 'agree to valuations; disputed quantities',
  'valuation.certify': 'certify valuations',
};

const HEADING: Record<Role, string> = {
  viewer: 'viewer',
  shift_poster: 'shift poster',
  geologist: 'geologist',
  engineer: 'engineer',
  qs: 'QS',
  administrator: 'administrator',
  supervisor: 'supervisor',
};

/** Permissions by role, as a table in Markdown with aligned columns. */
export const permissionTable = (): string => {
  const rows = [
    ['permission', 'allows to', ...ROLES.map((role) => HEADING[role])],
    ...PERMISSIONS.map((permission) => [
      `\`${permission}\``,
      MEANING[permission],
      ...ROLES.map((role) => (ROLE_PERMISSIONS[role].includes(permission) ? 'yes' : '')),
    ]),
  ];
  const widths = (rows[0] ?? []).map((_, at) => Math.max(...rows.map((row) => row[at]?.length ?? 0)));
  const line = (cells: string[], filler = ' '): string =>
    `| ${cells.map((cell, at) => cell.padEnd(widths[at] ?? 0, filler)).join(' | ')} |`;
  const [heading = [], ...body] = rows;
  return [
    line(heading),
    line(
      heading.map(() => ''),
      '-',
    ),
    ...body.map((row) => line(row)),
  ].join('\n');
};
