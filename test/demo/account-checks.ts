import { scenario } from '../../src/demo/scenario.js';
import { mm, secondsOf, START_MM, sum, thousandths, boringsOf, lengthOf } from './naive.js';

/** The cells of the table rows between two headings. */
export const rowsOf = (text: string, from: string, to: string): string[][] =>
  text
    .slice(text.indexOf(from), text.indexOf(to))
    .split('\n')
    .map((line) => line.trim().split(/ {2,}/));

const drive = scenario();
const until = (date: string): typeof drive.shifts => drive.shifts.filter((shift) => shift.date <= date);
const drivenTo = (date: string): number =>
  sum(boringsOf({ ...drive, shifts: until(date) }).map((boring) => lengthOf(boring)));

const installed = (item: string, date: string): number =>
  sum(
    until(date)
      .flatMap(({ document }) => document.support)
      .filter((line) => line.item === item)
      .map(({ quantity }) => thousandths(quantity)),
  );

/** For night shifts that end at six the next day. */
const probed = (sixOClock: string): number =>
  sum(
    drive.probeHoles
      .filter(({ input }) => Date.parse(input.drilledAt ?? '') < Date.parse(sixOClock))
      .map(({ input }) => thousandths(input.lengthM)),
  );

/** By the class limits of the scenario: B to 61.350 m, A to 151.900, C to 186.420, D to 202.780, C to 241.150, then B. [mm] */
const FAULT = { from: 186_420, to: 202_780, agreedTo: 210_000 };
const C_FROM = 151_900;
const C_TO = 241_150;
const PROPOSED_B_FROM = 234_350;

interface Line {
  reference: string;
  /** To date. [1/1000 unit] */
  toDate: number;
  held: number;
  decimals: number;
  /** [0.01 CHF/unit] */
  rate: number;
}

/** What a valuation measures to date; whatever depends on decision 2 is paid as C until D is agreed. */
const account = (
  date: string,
  sixOClock: string,
  isDecided: boolean,
  rejected: number,
  setup: number,
): Line[] => {
  const face = drivenTo(date);
  const faultTo = isDecided ? FAULT.agreedTo : FAULT.to;
  const line = (reference: string, decimals: number, rate: number, toDate: number, held = 0): Line => ({
    reference,
    decimals,
    rate,
    toDate,
    held,
  });
  return [
    line('DRIVE-AB', 3, 640_000, C_FROM + Math.max(0, face - C_TO), isDecided ? C_TO - PROPOSED_B_FROM : 0),
    line('DRIVE-C', 3, 890_000, FAULT.from - C_FROM + Math.min(face, C_TO) - faultTo),
    line('DRIVE-D', 3, 1_450_000, faultTo - FAULT.from, isDecided ? 0 : FAULT.agreedTo - FAULT.to),
    line('BOLT-3M', 0, 6250, installed('BOLT-3', date)),
    line('BOLT-4M', 0, 8100, installed('BOLT-4', date) - rejected * 1000),
    line('MESH', 1, 1420, installed('MESH', date)),
    line('RING', 0, 235_000, installed('RIB', date)),
    line('SPRAY', 1, 41_000, installed('SPRAYED', date)),
    line('PROBE', 1, 11_800, probed(sixOClock)),
    line('GROUT', 3, 145_000, 620 + 480 + 310), // kg in three holes on 24 March
    line('WAIT', 2, 185_000, 1420), // 85 min of the client's = 1.4167 h, rounded to 1.42
    line('SETUP', 4, 120_000_000, setup),
  ];
};

const FIRST = account('2021-03-26', '2021-03-27T06:00:00+01:00', false, 0, 400);
const SECOND = account('2021-03-28', '2021-03-29T06:00:00+02:00', true, 2, 450);

const shown = (value: number, decimals: number): string => (value / 1000).toFixed(decimals);
const cents = ({ toDate, rate }: Line): number => Math.round((toDate * rate) / 1000);
const francs = (value: number): string => (value / 100).toFixed(2);

const rowsOfAccount = (lines: Line[], before: Line[] | undefined): string[][] =>
  lines.map((line, index) => {
    const previous = before?.[index];
    return [
      shown(previous?.toDate ?? 0, line.decimals),
      shown(line.toDate - (previous?.toDate ?? 0), line.decimals),
      shown(line.toDate, line.decimals),
      shown(line.held, line.decimals),
      francs(cents(line) - (previous ? cents(previous) : 0)),
    ];
  });

/** What two parties map, decide and pay, computed in whole numbers from the scenario's documents. */
export const accountChecks = (stdout: () => string): void => {
  it('shows who acts for whom, and a party for every hour', () => {
    const people = rowsOf(stdout(), 'WHO IS ON', 'HOURS BY RESPONSIBLE');
    for (const [who, whom] of [
      ['anna', 'Contractor (invented)'],
      ['dario', 'Supervisor of the client (invented)'],
      ['greta', 'Client (invented)'],
    ])
      expect(people.find(([first]) => first === who)?.at(-1)).toBe(whom);
    const activities = drive.shifts.flatMap(({ document }) => document.activities);
    const hours = rowsOf(stdout(), 'HOURS BY RESPONSIBLE', 'SUPPORT INSTALLED').slice(5, 8);
    expect(hours).toEqual(
      ['contractor', 'employer', 'third_party'].map((party) => {
        const own = activities.filter(({ responsibleParty }) => responsibleParty === party);
        return [party, (sum(own.map(secondsOf)) / 3600).toFixed(4), String(own.length)];
      }),
    );
  });

  it('rates the logs of both parties side by side', () => {
    const rows = rowsOf(stdout(), 'WHAT THE TWO', 'WHICH CLASS IS');
    const places = ['3+232.000', '3+224.000'];
    // Q = RQD/Jn · Jr/Ja · Jw/SRF = 20/12 · 1/4 · 0.66/2.5; RMR = 4 + 3 + 8 + 10 + 4 − 10
    expect(rows).toContainEqual(['GL-01', ...places, 'face', 'contractor', '0.110', '19', 'V', '24.0']);
    // 40/9 · 1/2 · 0.66/2.5; 4 + 8 + 10 + 20 + 7 − 5
    const other = ['GL-02', ...places, 'face', 'supervisor', '0.587', '44', 'III', '33.0', 'agreed'];
    expect(rows).toContainEqual(other);
    // 30/12 · 1/4 · 0.66/2.5; 4 + 8 + 8 + 10 + 4 − 10
    expect(rows).toContainEqual(['GL-03', ...places, 'left_wall', 'contractor', '0.165', '24', 'IV', '28.0']);
    expect(stdout()).toContain('At 3+228.000 Q of GL-02 (decided) and RMR of GL-02 (decided) count:');
  });

  it('shows a class proposed, disputed and agreed, against the baseline', () => {
    const decisions = rowsOf(stdout(), 'WHICH CLASS IS', 'AGAINST THE BASELINE');
    expect(decisions).toContainEqual([
      '2',
      '3+217.220',
      '3+210.000',
      'D',
      'agreed',
      'bruno (CONTRACTOR)',
      'dario (SUPERVISOR)',
      'dario (SUPERVISOR)',
      'the crushed rock ends at 3+217; what follows is C',
    ]);
    expect(decisions).toContainEqual(['3', '3+185.650', '3+178.850', 'B', 'proposed', 'elena (SUPERVISOR)']);
    const face = drivenTo('2021-03-31');
    const classes: [string, number, number, number][] = [
      ['A', 160_000 - 70_000, C_FROM - 61_350, 0],
      ['B', 70_000 + face - 230_000, 61_350 + face - C_TO, 0],
      ['C', 30_000 + 30_000, FAULT.from - C_FROM + C_TO - FAULT.agreedTo, 0],
      ['D', 10_000, FAULT.agreedTo - FAULT.from, FAULT.agreedTo - FAULT.from],
    ];
    const rows = rowsOf(stdout(), 'AGAINST THE BASELINE', 'AGAINST THE PROGRAMME');
    for (const [name, expected, met, agreed] of classes)
      expect(rows).toContainEqual([
        name,
        ...[expected, met, met - expected, agreed, met - agreed].map((value) => (value / 1000).toFixed(3)),
      ]);
  });

  it('compares with the programme: 15 m per day from 176 m on 23 March to 236 m on 27 March', () => {
    const rows = rowsOf(stdout(), 'AGAINST THE PROGRAMME', 'WHAT SUPPORT IS MISSING');
    const face = drivenTo('2021-03-25');
    const row = rows.find(([day]) => day === '2021-03-25');
    expect(mm(row?.[1] ?? '')).toBe(START_MM - (176_000 + 2 * 15_000));
    expect(mm(row?.[2] ?? '')).toBe(START_MM - face);
    expect(Number(row?.[3])).toBe((face - 206_000) / 1000);
  });

  it('finds the rib that was left out, and requires by the revision of the day', () => {
    const rows = rowsOf(stdout(), 'WHAT SUPPORT IS MISSING', 'WHAT IS PAID');
    // 151.900 + 8 × 1.700 = 165.500 m driven, and 168.900: 3.400 m where 1.700 + 0.100 is allowed
    const gap = ['RIB', 'L1', '3+254.500', '3+251.100', 'along', '3.400', '1.800', '1', '1', 'C noted'];
    expect(rows.filter(([item]) => item === 'RIB')).toEqual([gap]);
    // the row at 6.800 m driven: 340° to 20° are π · 7.2 · 40 / 360 = 2.513 m where 1.300 + 0.100 is allowed
    expect(rows.filter(([item]) => item === 'BOLT-2')).toEqual([
      [
        'BOLT-2',
        'L1',
        '3+413.200',
        '3+413.200',
        'around',
        '340.00° to 20.00°',
        '2.513',
        '1.400',
        '1',
        '1',
        'design section PORTAL',
      ],
    ]);
    // the face was at 3+236.407 when the day of the revision began
    expect(rows).toContainEqual(['3+268.100', '3+236.407', 'C noted']);
    expect(rows).toContainEqual(['3+236.407', '3+233.580', 'C noted', '1', '2021-03-24']);
    expect(START_MM - drivenTo('2021-03-23')).toBe(mm('3+236.407'));
    expect(rows).toContainEqual(['3+185.650', '3+178.850', 'the heavier of C noted, B proposed']);
  });

  it.each([
    ['valuation 1', FIRST, undefined, '  GET'],
    ['valuation 2', SECOND, FIRST, 'Why BOLT-4M'],
  ] as const)('pays %s line by line, and withholds what is contested', (heading, lines, before, end) => {
    const account = stdout().slice(stdout().lastIndexOf(`  ${heading}  unit`));
    const rows = account
      .slice(0, account.indexOf(end))
      .split('\n')
      .map((line) => line.trim().split(/ {2,}/));
    const paid = lines.map(({ reference }) => rows.find(([first]) => first === reference)?.slice(2, 7));
    expect(paid).toEqual(rowsOfAccount([...lines], before && [...before]));
    const total = sum(lines.map(cents)) - sum((before ?? []).map(cents));
    const heads = rowsOf(stdout(), 'WHAT IS PAID', '/valuations/1\n');
    const number = heading.at(-1);
    const head = heads.find(([first]) => first === number);
    expect(head?.[4]).toBe(francs(total));
    expect([head?.[2], ...(head?.slice(-2) ?? [])]).toEqual(
      number === '1'
        ? ['certified', 'franz (CONTRACTOR)', 'greta (CLIENT)']
        : ['agreed', 'franz (CONTRACTOR)', 'nobody yet'],
    );
  });

  it('shows the correction of a countersigned shift as an adjustment, and the class agreed since', () => {
    const rows = rowsOf(stdout(), 'Why BOLT-4M', 'AS BUILT, THE LAST');
    expect(rows).toContainEqual(['2021-03-25/night/support/1', 'D', 'corrected', '36', '-2', '34']);
    expect(sum(rows.filter((row) => row.length === 6).map((row) => Number(row[4]) || 0))).toBe(-2);
  });

  it('has the registers of the fault in the as-built record', () => {
    const rows = rowsOf(stdout(), 'AS BUILT WITH ITS', 'PROBED AHEAD');
    const of = (register: string): string[][] => rows.filter(([first]) => first === register);
    expect(of('class decision').map((row) => row.slice(1))).toEqual([
      ['1', '3+233.580', '3+217.220', 'D agreed'],
    ]);
    expect(of('ground log').map(([, name]) => name)).toEqual(['GL-01', 'GL-02', 'GL-03']);
    // 188 to 196 m driven: holes whose collar lies before 196 m and that reach beyond 188 m
    const touching = drive.probeHoles.filter(({ input }) => {
      const axial = Number(input.lengthM) * 1000 * Math.cos((Number(input.lookOutDeg) * Math.PI) / 180);
      const collar = START_MM - mm(input.collar);
      return collar <= 196_000 && collar + axial >= 188_000;
    });
    expect(of('probe hole').map(([, name]) => name)).toEqual(touching.map(({ name }) => name));
    expect(of('indication').map((row) => row.slice(1))).toEqual([
      ['RS-1 A', '3+235.000', '3+219.000', 'fractured: hit'],
    ]);
    expect(of('hold point')).toEqual([
      [
        'hold point',
        'FAULT',
        '3+230.000',
        '3+230.000',
        'released: control hole K-1 after round GR-1: 1.8 l/min',
      ],
    ]);
    // ribs of D are at 186.420 + 0.850 k: k = 2 … 11
    expect(of('required support')).toContainEqual(
      expect.arrayContaining(['RIB L1', '10 nr required, 10 installed: complete']),
    );
  });
};
