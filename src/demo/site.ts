import { formatChainage } from '../engineering/chainage.js';
import type { CalendarShiftInput } from '../features/site/calendar/calendar.models.js';
import type {
  ActivityCodeInput,
  EquipmentInput,
  GroundClassInput,
} from '../features/site/catalogue/catalogue.models.js';
import type { SupportItemInput } from '../features/site/catalogue/support-item.model.js';
import type { DriveInput } from '../features/site/drives/drive.model.js';
import type { MachineInput } from '../features/site/drives/machine.model.js';
import type { ProjectInput } from '../features/site/projects/project.model.js';

/** An invented site, unrelated to any real project, machine or crew. */
export const PROJECT = {
  code: 'DEMO',
  input: {
    name: 'Demonstration tunnel (invented)',
    timeZone: 'Europe/Zurich',
    dayStart: '06:00',
    currency: 'CHF',
  },
} satisfies { code: string; input: ProjectInput };

export const MACHINE = {
  code: 'M1',
  input: {
    name: 'Gripper machine 7.20 m (invented)',
    discCount: 46,
    discRadiusMm: '216.000',
    ratedDiscLoadKn: '267.000',
    strokeLengthM: '1.700',
    installedPowerKw: '2800.000',
    ratedThrustKn: '12300.000',
    ratedTorqueKnm: '4450.000',
    frictionKn: '1000.000',
    idleTorqueKnm: '150.000',
    torqueRatioLower: '0.3500',
    torqueRatioUpper: '0.6000',
    beltCapacityTPerH: '600.000',
  },
} satisfies { code: string; input: MachineInput };

const START_MM = 3_420_000;
const LENGTH_MM = 1_020_000;

/** The drive runs against the chainage, so that driven metres and chainage clearly differ. */
export const chainageAt = (drivenMm: number): string => formatChainage(START_MM - drivenMm);

export const DRIVE = {
  code: 'D1',
  input: {
    name: 'Main drive (invented)',
    startChainage: chainageAt(0),
    endChainage: chainageAt(LENGTH_MM),
    direction: -1,
    boredDiameterM: '7.200',
    machine: MACHINE.code,
    densityTPerM3: '2.700',
    swellPercent: '65.00',
  },
} satisfies { code: string; input: DriveInput };

const EVERY_DAY = [1, 2, 3, 4, 5, 6, 7];

export const CALENDAR_SHIFTS: Record<string, CalendarShiftInput> = {
  day: { startTime: '06:00', endTime: '18:00', weekdays: EVERY_DAY },
  night: { startTime: '18:00', endTime: '06:00', weekdays: EVERY_DAY },
};

export const ACTIVITY_CODES = {
  BORING: { description: 'Boring', countsAs: 'boring' },
  REGRIP: { description: 'Regripping', countsAs: 'regripping' },
  CREW: { description: 'Crew change and way to the face', countsAs: 'planned_stop' },
  MAINTENANCE: { description: 'Planned maintenance', countsAs: 'planned_stop' },
  CUTTERS: { description: 'Cutter inspection and change', countsAs: 'planned_stop' },
  EXTENSION: { description: 'Track, belt, water and air extended; cleaning', countsAs: 'planned_stop' },
  PROBING: { description: 'Probe drilling ahead of the face', countsAs: 'planned_stop' },
  SUPPORT: { description: 'Support in L1 while the boring waits', countsAs: 'ground', planned: true },
  BREAKDOWN: { description: 'Breakdown', countsAs: 'breakdown' },
  WAITING: { description: 'Waiting for supply, transport or a decision', countsAs: 'waiting' },
} satisfies Record<string, ActivityCodeInput>;

export type ActivityName = keyof typeof ACTIVITY_CODES;

export const EQUIPMENT = {
  HEAD: { description: 'Cutterhead and its drive' },
  BELT: { description: 'Main belt' },
  'BACK-UP': { description: 'Back-up' },
} satisfies Record<string, EquipmentInput>;

export const GROUND_CLASSES = {
  A: {
    description: 'Massive rock: single bolts where needed',
    densityTPerM3: '2.650',
    swellPercent: '70.00',
  },
  B: { description: 'Jointed rock: bolts and mesh in the crown, thin sprayed concrete in L2' },
  C: { description: 'Blocky rock: bolts, mesh and ribs in L1, sprayed concrete in L2' },
  D: { description: 'Fault zone: close ribs, mesh and sprayed concrete in L1, more in L2' },
} satisfies Record<string, GroundClassInput>;

export type GroundClassName = keyof typeof GROUND_CLASSES;

export const SUPPORT_ITEMS = {
  'BOLT-2': {
    kind: 'bolt',
    unit: 'nr',
    description: 'Rock bolt 2 m of the portal pattern',
    lengthM: '2.000',
    diameterMm: '25.00',
    capacityKn: '150.000',
  },
  'BOLT-3': {
    kind: 'bolt',
    unit: 'nr',
    description: 'Rock bolt 3 m',
    lengthM: '3.000',
    diameterMm: '25.00',
    capacityKn: '200.000',
  },
  'BOLT-4': {
    kind: 'bolt',
    unit: 'nr',
    description: 'Rock bolt 4 m',
    lengthM: '4.000',
    diameterMm: '25.00',
    capacityKn: '250.000',
  },
  MESH: {
    kind: 'mesh',
    unit: 'm2',
    description: 'Welded mesh, laps included',
    massKgPerM2: '4.400',
    lapPercent: '0.00',
  },
  RIB: {
    kind: 'rib',
    unit: 'nr',
    description: 'Sliding rib, full ring',
    profile: 'TH 29',
    massKgPerM: '29.000',
    centreLineDiameterM: '7.050',
  },
  SPRAYED: {
    kind: 'sprayed_concrete',
    unit: 'm3',
    description: 'Sprayed concrete as delivered',
    mix: 'wet, C30/37',
    reboundPercent: '10.00',
    overbreakPercent: '20.00',
  },
} satisfies Record<string, SupportItemInput>;

export type SupportItemName = keyof typeof SUPPORT_ITEMS;
