/** Who acts for which party in test/access/parties. */

export const PROJECT = '/v1/projects/P1';
export const DRIVE = `${PROJECT}/drives/N`;

export const MEMBERS: [who: string, role: string, party?: string][] = [
  ['anna', 'shift_poster', 'CON'],
  ['gina', 'geologist', 'CON'],
  ['boris', 'engineer', 'CON'],
  ['carla', 'engineer', 'CON'],
  ['cleo', 'qs', 'CON'],
  ['quinn', 'qs', 'CLI'],
  ['sven', 'supervisor', 'SUP'],
  ['nora', 'engineer'],
];
export const CON = { code: 'CON', name: 'Contractor JV', kind: 'contractor', side: 'contractor' };
export const SUP = { code: 'SUP', name: 'Site Supervision', kind: 'supervisor', side: 'client' };
export const CLI = { code: 'CLI', name: 'Rail Authority', kind: 'client', side: 'client' };

export const said = ({ status, body }: { status: number; body: Record<string, unknown> }) => [
  status,
  body['detail'],
];
