import type { TestApp } from '../harness/app.js';

export const PROJECT = 'P1';
export const DRIVE = 'N';

interface DriveTrial {
  project?: string;
  drive?: string;
  startChainage?: string;
  endChainage?: string;
  direction?: 1 | -1;
}

const put = async (
  { http }: Pick<TestApp, 'http'>,
  project: string,
  path: string,
  body: object,
): Promise<void> => {
  const { status, text } = await http.put(`/v1/projects/${project}${path}`).send(body);
  if (status >= 300) throw new Error(`${path}: ${status} ${text}`);
};

/** A drive of the trial project. */
export const aDrive = (
  app: Pick<TestApp, 'http'>,
  {
    project = PROJECT,
    drive = DRIVE,
    startChainage = '1+200',
    endChainage = '2+200',
    direction = 1,
  }: DriveTrial = {},
): Promise<void> =>
  put(app, project, `/drives/${drive}`, {
    name: 'Trial drive',
    startChainage,
    endChainage,
    direction,
    boredDiameterM: '7',
    machine: 'M1',
  });

/** Figures of trials are chosen for their arithmetic: the defaults would doubt a bore of 10 m. Cases about doubts remove these limits. */
export const wideLimits = (...items: string[]) => ({
  aheadOfFaceM: '99999',
  strokeLengthM: '999',
  leastThrustKn: '0',
  mostThrustKn: '999999',
  leastTorqueKnm: '0',
  mostTorqueKnm: '999999',
  leastRateMPerH: '0',
  mostRateMPerH: '999',
  items: ['BOLT', 'MESH', 'RIB', 'SPRAY', ...items].map((item) => ({ item, mostPerM: '9999999' })),
});

interface ProjectTrial {
  project?: string;
  timeZone?: string;
  dayStart?: string;
}

/** A project with calendar (06:00, 18:00), codes, classes, items, a machine and one drive. */
export const aProject = async (
  app: Pick<TestApp, 'http'>,
  { project = PROJECT, timeZone = 'UTC', dayStart = '06:00' }: ProjectTrial = {},
  drive: DriveTrial = {},
): Promise<void> => {
  await put(app, project, '', { name: 'Trial', timeZone, dayStart, currency: 'EUR' });
  const weekdays = [1, 2, 3, 4, 5, 6, 7];
  await put(app, project, '/calendar-shifts/day', { startTime: '06:00', endTime: '18:00', weekdays });
  await put(app, project, '/calendar-shifts/night', { startTime: '18:00', endTime: '06:00', weekdays });
  await put(app, project, '/activity-codes/BORE', { description: 'Boring', countsAs: 'boring' });
  await put(app, project, '/activity-codes/MAINT', { description: 'Maintenance', countsAs: 'planned_stop' });
  await put(app, project, '/ground-classes/A', { description: 'Good rock' });
  await put(app, project, '/ground-classes/B', { description: 'Fair rock' });
  await put(app, project, '/support-items/BOLT', {
    kind: 'bolt',
    unit: 'nr',
    description: 'Bolt 3 m',
    lengthM: '3',
  });
  await put(app, project, '/support-items/MESH', { kind: 'mesh', unit: 'm2', description: 'Mesh' });
  await put(app, project, '/support-items/RIB', {
    kind: 'rib',
    unit: 'nr',
    description: 'Rib',
    massKgPerM: '29',
  });
  await put(app, project, '/support-items/SPRAY', {
    kind: 'sprayed_concrete',
    unit: 'm3',
    description: 'Sprayed concrete',
  });
  await put(app, project, '/machines/M1', {
    name: 'Trial machine',
    discCount: 50,
    discRadiusMm: '241.3',
    idleTorqueKnm: '180',
    torqueRatioLower: '0.35',
    torqueRatioUpper: '0.57',
  });
  await put(app, project, '/doubt-limits/1900-01-01', wideLimits());
  await aDrive(app, { project, ...drive });
};
