import { FORM, D, NDJSON, onVersion, post, put, type Step } from './step.js';

const WHOLE = { number: 'Stroke', fromM: 'Start [m]', toM: 'End [m]' };
const READ = {
  at: 'Time',
  positionM: 'Position [m]',
  thrustKn: 'Thrust [kN]',
  penetrationRateMmPerMin: 'Rate [mm/min]',
};
const SHIFT = `${D}/shifts/{date}/{shift}`;
const DAY = { date: '2027-03-01', shift: 'day' };
const NIGHT = { date: '2027-03-02', shift: 'night' };
const submitted = (number: number, from: string, to: string, start: string, bored: string, end: string) => ({
  state: 'submitted',
  strokes: [{ number, borings: [{ from, to, startedAt: start, endedAt: bored }] }],
  activities: [
    { code: 'BORE', startedAt: start, endedAt: bored },
    { code: 'WAIT', startedAt: bored, endedAt: end },
  ],
  support: [{ item: 'BOLT', zone: 'L1', from, to, quantity: '8' }],
  ground: [{ groundClass: 'A', from, to }],
});

/** Samples one minute apart, at 60 mm/min. */
const samples = (fromMinute: number, toMinute: number) =>
  Array.from({ length: toMinute - fromMinute + 1 }, (_, index) => ({
    at: `2027-03-05T06:${String(fromMinute + index).padStart(2, '0')}:00Z`,
    positionM: (3400 + 60 * (fromMinute + index)) / 1000,
    thrustKn: 9000,
    penetrationRateMmPerMin: 60,
  }));

const table = samples(0, 5).map((each) => Object.values(each).join(','));

/** Shifts of the northern drive; strokes and samples of the southern one as its machine recorded them. */
export const RECORD: Step[] = [
  put(
    'poster',
    SHIFT,
    DAY,
    submitted(1, '1+200', '1+201.7', '2027-03-01T06:00:00Z', '2027-03-01T06:40:00Z', '2027-03-01T18:00:00Z'),
  ),
  onVersion(post('supervisor', `${SHIFT}/countersign`, DAY)),
  put(
    'poster',
    SHIFT,
    NIGHT,
    submitted(
      2,
      '1+201.7',
      '1+203.4',
      '2027-03-02T18:00:00Z',
      '2027-03-02T18:45:00Z',
      '2027-03-03T06:00:00Z',
    ),
  ),
  onVersion(post('supervisor', `${SHIFT}/dispute`, NIGHT, { reason: 'Seven bolts were counted, not eight' })),
  onVersion(post('supervisor', `${SHIFT}/countersign`, NIGHT)),
  onVersion(post('supervisor', `${SHIFT}/reopen`, NIGHT, { reason: 'To count the bolts again' })),
  post(
    'engineer',
    `${D}/imports/{kind}`,
    { drive: 'S', kind: 'strokes' },
    { map: JSON.stringify(WHOLE), file: 'Stroke,Start [m],End [m]\n1,0,1.7\n2,1.7,3.4\n' },
    FORM,
  ),
  post(
    'engineer',
    `${D}/samples`,
    { drive: 'S' },
    { map: JSON.stringify(READ), file: `Time,Position [m],Thrust [kN],Rate [mm/min]\n${table.join('\n')}\n` },
    FORM,
  ),
  post(
    'engineer',
    `${D}/samples`,
    { drive: 'S' },
    `${samples(6, 12)
      .map((each) => JSON.stringify(each))
      .join('\n')}\n`,
    NDJSON,
  ),
  post(
    'engineer',
    `${D}/stroke-proposals`,
    { drive: 'S' },
    { from: '2027-03-05T06:00:00Z', to: '2027-03-05T07:00:00Z', thresholds: { maxGapS: 120 } },
  ),
  onVersion(
    post(
      'engineer',
      `${D}/stroke-proposals/{number}/accept`,
      { drive: 'S', number: '1' },
      { firstNumber: 3 },
    ),
  ),
  put(
    'engineer',
    `${D}/probe-holes/{name}`,
    { name: 'PH1' },
    {
      collar: '1+201',
      lookOutDeg: '5',
      positionDeg: '0',
      lengthM: '20',
      plannedLengthM: '30',
      diameterMm: '64',
      method: 'percussive',
      state: 'abandoned',
      log: [{ fromM: '0', toM: '18.5', penetrationRateMPerMin: '1.4', rock: 'granite' }],
    },
  ),
  put(
    'engineer',
    `${D}/investigations/{name}`,
    { name: 'RS1' },
    {
      method: 'reflection_seismic',
      from: '1+202',
      to: '1+300',
      face: '1+202',
      madeAt: '2027-03-01T20:00:00Z',
      madeBy: 'Gerda',
      indications: [{ key: 'R1', kind: 'fractured', from: '1+240', to: '1+246', uncertaintyM: '3' }],
    },
  ),
  put(
    'engineer',
    `${D}/encounters/{name}`,
    { name: 'E1' },
    {
      kind: 'fractured',
      from: '1+200',
      to: '1+201',
      source: 'mapping',
      metAt: '2027-03-01T18:00:00Z',
      metBy: 'Gerda',
    },
  ),
  put(
    'engineer',
    `${D}/inflow-measurements/{name}`,
    { name: 'W1' },
    {
      place: 'interval',
      from: '1+200',
      to: '1+201',
      method: 'bucket',
      measuredAt: '2027-03-01T09:00:00Z',
      flowLPerMin: '2.5',
    },
  ),
  put(
    'owner',
    `${D}/water-limits/{validFrom}`,
    { validFrom: '2027-01-01' },
    { per100mLPerMin: '30', pumpingLPerMin: '2000' },
  ),
  post(
    'engineer',
    `${D}/imports/{kind}`,
    { kind: 'probe-holes' },
    { file: 'name,collar,look_out_deg,length_m,position_deg\nPH2,1+201,5,30,120\n' },
    FORM,
  ),
  put(
    'engineer',
    `${D}/water-tests/{name}`,
    { name: 'WT1' },
    {
      hole: 'PH1',
      fromDepthM: '10',
      toDepthM: '13',
      testedAt: '2027-03-01T11:00:00Z',
      steps: [{ gaugeBar: '5', flowLPerMin: '18', durationMin: '10' }],
    },
  ),
  put(
    'engineer',
    `${D}/grouting-rounds/{name}`,
    { name: 'GR1' },
    {
      purpose: 'pre_grouting',
      state: 'complete',
      from: '1+201',
      to: '1+221',
      face: '1+201',
      startedAt: '2027-03-01T12:00:00Z',
      endedAt: '2027-03-01T16:00:00Z',
      triggerHole: 'PH1',
      holes: [
        {
          name: 'G1',
          collar: '1+201',
          positionDeg: '30',
          lookOutDeg: '5',
          lengthM: '20',
          diameterMm: '51',
          startedAt: '2027-03-01T13:00:00Z',
          endedAt: '2027-03-01T14:30:00Z',
          pressureEndBar: '45',
          stopCriterion: 'pressure',
          mixes: [{ material: 'Micro cement', waterCementRatio: '0.9', massKg: '620', volumeL: '760' }],
        },
      ],
    },
  ),
];
