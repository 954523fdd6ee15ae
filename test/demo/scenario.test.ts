import { EVENTS } from '../../src/demo/events.js';
import { scenario } from '../../src/demo/scenario.js';
import { boringsOf, dayFromSix, lengthOf, mm, secondsOf, START_MM, sum } from './naive.js';

const drive = scenario();
const borings = boringsOf(drive);
const minutesOfClock = (localText: string): number =>
  Number(localText.slice(11, 13)) * 60 + Number(localText.slice(14, 16));

describe('the invented drive', () => {
  it('is the same on every call', () => {
    expect(scenario()).toEqual(drive);
  });

  it('bores 300 to 400 m without gap or overlap, in strokes of at most 1.7 m', () => {
    expect(mm(borings[0]?.from ?? '')).toBe(START_MM);
    borings.slice(1).forEach((boring, index) => expect(boring.from).toBe(borings[index]?.to));
    const bored = START_MM - mm(borings.at(-1)?.to ?? '');
    expect(bored).toBeGreaterThan(300_000);
    expect(bored).toBeLessThan(400_000);
    const lengths = new Map<number, number>();
    for (const boring of borings)
      lengths.set(boring.stroke, (lengths.get(boring.stroke) ?? 0) + lengthOf(boring));
    expect(Math.max(...lengths.values())).toBeLessThanOrEqual(1700);
    expect([...lengths.keys()]).toEqual(Array.from(lengths, (_, index) => index + 1));
  });

  it('bores at rates that fit length and time: p · n · 60 / 1000', () => {
    for (const boring of borings) {
      const penetration = boring.penetrationMmPerRev ?? 0;
      const rate = (penetration * (boring.rotationRpm ?? 0) * 60) / 1000;
      const measured = lengthOf(boring) / 1000 / (secondsOf(boring) / 3600);
      expect(Math.abs(rate - measured)).toBeLessThanOrEqual((0.005 * 6 * 60) / 1000 + 1e-9);
      expect(penetration).toBeGreaterThanOrEqual(4);
      expect(penetration).toBeLessThanOrEqual(10);
    }
  });

  it('bores 10 to 35 m a day', () => {
    const days = new Map<string, number>();
    for (const boring of borings) {
      const day = dayFromSix(boring.startedAt);
      days.set(day, (days.get(day) ?? 0) + lengthOf(boring));
    }
    expect(days.size).toBe(16);
    expect(Math.min(...days.values())).toBeGreaterThanOrEqual(10_000);
    expect(Math.max(...days.values())).toBeLessThanOrEqual(35_000);
  });

  it('fills every minute of every shift but the last, the short night too', () => {
    drive.shifts.slice(0, -1).forEach(({ date, shift, document }) => {
      const { activities, strokes } = document;
      const hours = date === '2021-03-27' && shift === 'night' ? 11 : 12;
      expect(sum(activities.map(secondsOf))).toBe(hours * 3600);
      activities
        .slice(1)
        .forEach((activity, index) => expect(activity.startedAt).toBe(activities[index]?.endedAt));
      const ledger = activities.filter(({ code }) => code === 'BORING').map(secondsOf);
      expect(sum(ledger)).toBe(sum(strokes.flatMap((stroke) => stroke.borings).map(secondsOf)));
      expect(activities[0]?.startedAt.slice(0, 16)).toBe(`${date}T${shift === 'day' ? '06:00' : '18:00'}`);
      expect(document.state).toBe('submitted');
    });
    expect(drive.shifts.at(-1)?.document.state).toBe('draft');
  });

  it('has a stroke that continues in the next shift, one with a pause in its shift, and a boring over midnight', () => {
    const strokesOf = (index: number): number[] =>
      drive.shifts[index]?.document.strokes.map(({ number }) => number) ?? [];
    const continued = drive.shifts.filter((_, index) => strokesOf(index).at(-1) === strokesOf(index + 1)[0]);
    expect(continued.map(({ date, shift }) => `${date} ${shift}`)).toEqual([
      '2021-03-20 night',
      '2021-03-21 night',
    ]);
    const breakdown = drive.shifts.find(({ date, shift }) => `${date} ${shift}` === '2021-03-24 day');
    const stop = breakdown?.document.activities.find(({ code }) => code === 'BREAKDOWN');
    expect(stop).toMatchObject({ responsibleParty: 'contractor', equipment: 'BELT' });
    expect(breakdown?.document.strokes.map((stroke) => stroke.borings.length)).toContain(2);
    expect(
      borings.some(({ startedAt, endedAt }) => minutesOfClock(startedAt) > minutesOfClock(endedAt)),
    ).toBe(true);
  });

  it('names a party for every hour, twice one other than the contractor', () => {
    const activities = drive.shifts.flatMap(({ document }) => document.activities);
    expect(activities.filter(({ responsibleParty }) => responsibleParty === undefined)).toEqual([]);
    const others = activities.filter(({ responsibleParty }) => responsibleParty !== 'contractor');
    expect(others.map(({ responsibleParty }) => responsibleParty)).toEqual(['third_party', 'employer']);
  });

  it('drills each fan with positions, and looks out within the limit of 12°', () => {
    const fans = new Map<string, string[]>();
    for (const { input } of drive.probeHoles.filter(({ input: { state } }) => state !== 'control_hole')) {
      expect(Number(input.lookOutDeg)).toBeLessThanOrEqual(12);
      fans.set(input.collar, [...(fans.get(input.collar) ?? []), input.positionDeg ?? 'none']);
    }
    expect(new Set([...fans.values()].map(String))).toEqual(new Set(['0.00', '0.00,120.00,240.00']));
  });

  it('includes every event', () => {
    for (const [key, events] of Object.entries(EVENTS)) {
      const shift = drive.shifts.find(({ date, shift: name }) => `${date} ${name}` === key);
      const remarks = shift?.document.activities.map(({ remark }) => remark);
      expect(remarks).toEqual(expect.arrayContaining(events.map(({ remark }) => remark)));
    }
  });

  it('meets four ground classes and supports each by its own standard', () => {
    const ground = drive.shifts.flatMap(({ document }) => document.ground);
    expect(new Set(ground.map(({ groundClass }) => groundClass))).toEqual(new Set(['A', 'B', 'C', 'D']));
    ground.slice(1).forEach((note, index) => expect(note.from).toBe(ground[index]?.to));
    const ribs = drive.shifts
      .flatMap(({ document }) => document.support)
      .filter(({ item }) => item === 'RIB');
    // class C from 151.900 m: a rib every 1.700 m, the tenth left out
    const places = ribs.map(({ from }) => START_MM - mm(from)).filter((at) => at < 186_420);
    expect(places).not.toContain(151_900 + 9 * 1700);
    expect(places).toHaveLength(Math.floor((186_420 - 151_900) / 1700) + 1 - 1);
    expect(ribs.every(({ to, quantity }) => to === undefined && quantity === '1')).toBe(true);
  });

  it('never bores beyond the probed ground once probing has begun, and meets water once', () => {
    const reaches = drive.probeHoles.map(({ input }) => ({
      face: mm(input.face ?? ''),
      reach:
        mm(input.collar) -
        1000 * Number(input.lengthM) * Math.cos((Number(input.lookOutDeg) * Math.PI) / 180),
    }));
    const begun = Math.max(...reaches.map(({ face }) => face));
    for (const { to } of borings.filter(({ from }) => mm(from) <= begun)) {
      const drilled = reaches.filter(({ face }) => face > mm(to));
      expect(mm(to)).toBeGreaterThan(Math.min(...drilled.map(({ reach }) => reach)));
    }
    expect(drive.probeHoles.filter(({ input }) => input.waterInflowLPerMin)).toHaveLength(1);
  });
});
