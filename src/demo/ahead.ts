import type {
  HoldPointInput,
  HoldPointReleaseInput,
} from '../features/ahead/hold-points/hold-point.models.js';
import type { EncounterInput } from '../features/ahead/indications/encounter.models.js';
import type { InvestigationInput } from '../features/ahead/indications/investigation.models.js';
import type { GroutingRoundInput } from '../features/ahead/grouting/grouting.models.js';
import type { InflowMeasurementInput } from '../features/ahead/water/inflow.models.js';
import type { WaterLimitsInput } from '../features/ahead/water/water-limits.models.js';
import type { WaterTestInput } from '../features/ahead/water/water-tests.models.js';
import type { AlertRuleInput } from '../features/watch/alerts/alert.models.js';
import { CONTROL_HOLE, WET_HOLE } from './probing.js';
import { chainageAt, DRIVE } from './site.js';

// The approach to the invented fault: water in a probe hole, an investigation, a hold point, grouting while the belt was
// stopped, a control hole, and the release. The bill contains what is paid for it.

export const WATER_LIMITS = {
  validFrom: '2021-03-01',
  input: {
    per100mLPerMin: '40',
    perHoleLPerMin: '20',
    totalLPerMin: '300',
    pumpingLPerMin: '2400',
    remark: 'Clause DEMO-21 (invented)',
  } satisfies WaterLimitsInput,
};

export const HOLD_POINT = {
  code: 'FAULT',
  input: {
    chainage: chainageAt(190_000),
    reason: 'water under pressure at the fault: not before a control hole is below the trigger',
    side: 'client',
    role: 'supervisor',
  } satisfies HoldPointInput,
  release: {
    evidence: `control hole ${CONTROL_HOLE} after round GR-1: 1.8 l/min`,
    releasedAt: '2021-03-24T22:05:00+01:00',
  } satisfies HoldPointReleaseInput,
};

/** The first indication is met at the fault; the face has not yet passed the second. */
export const INVESTIGATION = {
  name: 'RS-1',
  input: {
    method: 'reflection_seismic',
    from: chainageAt(173_512),
    to: chainageAt(336_000),
    face: chainageAt(173_512),
    madeAt: '2021-03-23T18:20:00+01:00',
    madeBy: 'carla',
    indications: [
      {
        key: 'A',
        kind: 'fractured',
        from: chainageAt(185_000),
        to: chainageAt(201_000),
        uncertaintyM: '4',
      },
      {
        key: 'B',
        kind: 'water_bearing',
        from: chainageAt(324_000),
        to: chainageAt(330_000),
        uncertaintyM: '5',
      },
    ],
  } satisfies InvestigationInput,
};

export const ENCOUNTER = {
  name: 'E-1',
  input: {
    kind: 'fractured',
    from: chainageAt(186_420),
    to: chainageAt(202_780),
    source: 'mapping',
    metAt: '2021-03-24T10:41:00+01:00',
    metBy: 'carla',
  } satisfies EncounterInput,
};

/** In three holes from the face at the fault, one after the other, while the bearing of the belt drive is replaced. */
export const GROUTING = {
  name: 'GR-1',
  input: {
    purpose: 'pre_grouting',
    state: 'complete',
    from: chainageAt(187_390),
    to: chainageAt(204_800),
    face: chainageAt(187_390),
    startedAt: '2021-03-24T13:20:00+01:00',
    endedAt: '2021-03-24T17:00:00+01:00',
    triggerMeasurement: 'W-1',
    triggerHole: WET_HOLE,
    holes: (
      [
        ['G1', '330.00', '14:20', '15:10', '620', '758'],
        ['G2', '0.00', '15:10', '16:10', '480', '587'],
        ['G3', '30.00', '16:10', '17:00', '310', '379'],
      ] as const
    ).map(([name, positionDeg, from, to, massKg, volumeL]) => ({
      name,
      collar: chainageAt(186_890),
      positionDeg,
      lookOutDeg: '5.00',
      lengthM: '18.000',
      diameterMm: '51.00',
      startedAt: `2021-03-24T${from}:00+01:00`,
      endedAt: `2021-03-24T${to}:00+01:00`,
      pressureEndBar: '45',
      stopCriterion: 'pressure' as const,
      mixes: [{ material: 'Micro cement', waterCementRatio: '0.9', massKg, volumeL }],
    })),
    controlHoles: [CONTROL_HOLE],
  } satisfies GroutingRoundInput,
};

/** In the middle grout hole before grouting: about 6 Lu at every pressure. */
export const WATER_TEST = {
  name: 'WT-1',
  input: {
    hole: 'G2',
    collar: chainageAt(186_890),
    fromDepthM: '8',
    toDepthM: '13',
    holeDiameterMm: '51',
    groundwaterBar: '4.5',
    testedAt: '2021-03-24T13:25:00+01:00',
    testedBy: 'carla',
    steps: [
      ['8', '10.6'],
      ['11', '19.4'],
      ['15', '31.6'],
      ['11', '19.6'],
      ['8', '10.4'],
    ].map(([gaugeBar = '', flowLPerMin = '']) => ({ gaugeBar, flowLPerMin, durationMin: '10' })),
  } satisfies WaterTestInput,
};

const ofHole = (hole: string, measuredAt: string, flowLPerMin: string): InflowMeasurementInput => ({
  place: 'hole',
  hole,
  method: 'bucket',
  measuredAt,
  flowLPerMin,
  measuredBy: 'carla',
});

export const INFLOW: Record<string, InflowMeasurementInput> = {
  'W-1': ofHole(WET_HOLE, '2021-03-24T13:15:00+01:00', '38'),
  'W-2': ofHole(CONTROL_HOLE, '2021-03-24T21:55:00+01:00', '1.8'),
  'W-3': ofHole(WET_HOLE, '2021-03-24T22:00:00+01:00', '0.6'),
  'W-4': {
    place: 'interval',
    from: chainageAt(160_000),
    to: chainageAt(198_000),
    method: 'weir',
    measuredAt: '2021-03-29T10:00:00+02:00',
    flowLPerMin: '46',
    measuredBy: 'carla',
  },
  'W-5': {
    place: 'portal',
    method: 'flow_meter',
    measuredAt: '2021-03-31T06:30:00+02:00',
    flowLPerMin: '212',
    serviceWaterLPerMin: '140',
    measuredBy: 'carla',
  },
};

export const ALERT_RULES: Record<string, AlertRuleInput> = {
  COVER: { kind: 'cover_below', drive: DRIVE.code, threshold: '12' },
  INFLOW: { kind: 'inflow_above', drive: DRIVE.code },
};
