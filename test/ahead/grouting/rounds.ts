// A grouting round of three holes, one of them without grout.

export const hole = (name: string, more: object = {}): object => ({
  name,
  collar: '1+220',
  lookOutDeg: '0',
  lengthM: '6',
  ...more,
});

export const cement = (waterCementRatio: string, massKg: string, volumeL?: string): object => ({
  material: 'Portland cement',
  waterCementRatio,
  massKg,
  volumeL,
});

export const G1 = hole('G1', {
  positionDeg: '10',
  lookOutDeg: '5',
  lengthM: '30',
  diameterMm: '51',
  startedAt: '2026-03-02T09:00:00Z',
  endedAt: '2026-03-02T10:30:00Z',
  pressureEndBar: '45',
  stopCriterion: 'pressure',
  mixes: [cement('1', '600', '800'), cement('0.8', '400', '450')],
});
export const G2 = hole('G2', {
  lookOutDeg: '4',
  lengthM: '24',
  startedAt: '2026-03-02T10:00:00Z',
  endedAt: '2026-03-02T11:00:00Z',
  pressureEndBar: '60.5',
  stopCriterion: 'volume',
  mixes: [cement('0.9', '500', '620')],
});

export const ROUND = {
  purpose: 'pre_grouting',
  state: 'complete',
  from: '1+220',
  to: '1+240',
  face: '1+220',
  startedAt: '2026-03-02T08:00:00Z',
  endedAt: '2026-03-02T14:00:00Z',
  holes: [G1, G2, hole('G3')],
};
