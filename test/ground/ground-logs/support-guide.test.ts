import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { LOG, putLog, Q_INPUT, RMR_INPUT, URL } from './logs.js';

const six = (value: number): number => Number(value.toPrecision(6));

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await putLog(app, 'A', { ...LOG, q: Q_INPUT, rmr: RMR_INPUT }); // Q 13.33 good, RMR 69 II
  await putLog(app, 'C', { ...LOG, from: '1+220', to: '1+224' });
});

afterAll(() => app.close());

type Row = Record<string, unknown>;

describe('the support guide', () => {
  const guide = async (name: string, query: string): Promise<Row> =>
    (await app.http.get(`${URL}/ground-logs/${name}/support-guide?${query}`)).body as Row;

  it('reports each figure with edition, inputs, source and mark, and defers to the designer', async () => {
    const { figures, ...head } = (await guide('A', 'spanM=6&esr=1.6')) as { figures: Row[] } & Row;
    expect(head).toEqual({
      name: 'A',
      spanM: 6,
      spanOf: 'as given',
      support: 'permanent',
      esr: 1.6,
      esrCounted: 1.6,
      esrType: null,
      wallHeightM: null,
      unanswered: null,
      caution: expect.stringMatching(/^Decision support: .*The project’s designer and the local code decide/),
    });
    // By hand with Q 40/3, RMR 69 (74 without R6 = −5), R4 20, RQD 80, Jv 10, λ 10. No unsupported span: with Jn 9, RQD 90 is required.
    expect(figures.map(({ figure, value }) => [figure, value])).toEqual([
      ['equivalent_dimension', 3.75],
      ['bolt_length', 2.5625], // transcribed
      ['maximum_unsupported_span', null],
      ['q_wall', six(200 / 3)],
      ['rmr_from_q_bieniawski', six(9 * Math.log(40 / 3) + 44)],
      ['rmr_from_q_barton', six(15 * Math.log10(40 / 3) + 50)],
      ['rmr_support_guide', null],
      ['gsi_from_rmr89', 74], // 12 + 17 + 15 + 20 + 15 − 5
      ['gsi_from_jcond89', 70], // 30 + 40
      ['q_from_rmr_bieniawski', six(Math.exp(30 / 9))],
      ['q_from_rmr_barton', six(10 ** (24 / 15))],
      ['rqd_from_jv_1982', 82],
      ['rqd_from_jv_2005', 85],
      ['rqd_from_frequency', expect.closeTo(73.5759, 4)],
    ]);
    for (const figure of figures)
      expect(figure).toMatchObject({
        formula: expect.any(String),
        inputs: expect.any(String),
        source: expect.any(String),
        mark: expect.stringMatching(/^(read|transcribed|memory)$/),
      });
    expect(figures[2]).toMatchObject({
      edition: 'q-2013',
      remark: 'No span without support: RQD 80 is below 90 with Jn 9.',
    });
    expect(figures[6]).toMatchObject({
      edition: 'rmr-1989.2',
      mark: 'memory',
      // the row of class II, typed a second time
      support: {
        excavation: 'Full face, 1–1.5 m advance; complete support 20 m from the face',
        bolts: 'local, in the crown, 3 m long at 2.5 m, with occasional mesh',
        sprayedConcrete: '50 mm in the crown where required',
        ribs: 'none',
      },
      remark: expect.stringMatching(
        /^For a 10 m horseshoe, drill and blast, vertical stress below 25 MPa; .*Not for machine bores/,
      ),
    });
    // lengths of bolts and spans are for drill and blast, and say so
    for (const index of [1, 2, 6])
      expect(figures[index]).toMatchObject({
        caution: expect.stringMatching(/^Gathered in drill and blast/),
      });
  });

  it('reports the values for temporary support, and the bolts of a wall whose height is given', async () => {
    const { figures, ...head } = (await guide('A', 'spanM=9.5&wallHeightM=4&esr=1&support=temporary')) as {
      figures: Row[];
    } & Row;
    expect(head).toMatchObject({ wallHeightM: 4, support: 'temporary', esr: 1, esrCounted: 1.5 });
    // by hand: 9.5 / 1.5; 2 + 0.15 · 9.5 / 1.5; 2 + 0.15 · 4 / 1.5; Q 40/3 → 200/3
    expect(figures.slice(0, 7).map(({ figure, value, mark }) => [figure, value, mark])).toEqual([
      ['equivalent_dimension', six(19 / 3), 'memory'],
      ['bolt_length', six(2.95), 'memory'],
      ['bolt_length_wall', six(2.4), 'memory'],
      ['q_temporary', six(200 / 3), 'memory'],
      ['maximum_unsupported_span', null, 'memory'],
      ['q_wall', six(200 / 3), 'memory'],
      ['rmr_from_q_bieniawski', six(9 * Math.log(40 / 3) + 44), 'read'],
    ]);
    expect(figures[1]).toMatchObject({ inputs: 'span 9.5 m, ESR 1.5, 1.5 times that given' });
    expect(figures[4]).toMatchObject({
      inputs: expect.stringMatching(
        /^Q 66.6667, 5 times that of the log, ESR 1.5, 1.5 times that given, span 9.5 m/,
      ),
    });
  });

  it('says how much the formulas of RQD differ', async () => {
    const { figures } = (await guide('C', 'esr=1')) as { figures: Row[] };
    // by hand: 115 − 3.3 Jv and 110 − 2.5 Jv, held to 0 and 100: 82, 85; 49, 60; 0, 22.5
    expect(figures.find(({ figure }) => figure === 'rqd_from_jv_1982')).toMatchObject({
      remark: 'The two lines differ: by 3 points at Jv 10, 11 at Jv 20, 22.5 at Jv 35.',
    });
  });

  it('takes the bored diameter as the span when none is given, and says what cannot be computed', async () => {
    expect(await guide('C', 'esr=1.6')).toMatchObject({
      spanM: 7,
      spanOf: 'the bored diameter of the drive',
      figures: [
        { figure: 'equivalent_dimension', value: 4.375 },
        { figure: 'bolt_length' },
        { figure: 'rqd_from_jv_1982' },
        { figure: 'rqd_from_jv_2005' },
        { figure: 'rqd_from_frequency' },
      ],
      unanswered:
        'no unsupported span, no Q of the walls and no RMR by correlation: the log is not rated by Q; ' +
        'no support by RMR, no GSI and no Q by correlation: the log is not rated by RMR',
    });
  });

  it('correlates RMR without orientation, with its spread', async () => {
    const { figures } = (await guide('A', 'esr=1.6')) as { figures: Row[] };
    const named = (name: string): Row | undefined => figures.find(({ figure }) => figure === name);
    // by hand: RMR 69 with R6 −5 is 74 without; (74 − 44) / 9 = 3.3333, ± 18 / 9 = 2
    expect(named('q_from_rmr_bieniawski')).toMatchObject({
      spread: 18,
      lowest: six(Math.exp(4 / 3)),
      highest: six(Math.exp(16 / 3)),
      inputs: 'RMR 74 without orientation: 69 with R6 -5',
      remark: expect.stringMatching(/without orientation .*never for the record/),
    });
    // 9 · ln (40/3) + 44 = 67.31, ± 18
    expect(named('rmr_from_q_bieniawski')).toMatchObject({
      value: expect.closeTo(67.31, 2),
      lowest: expect.closeTo(49.31, 2),
      highest: expect.closeTo(85.31, 2),
    });
    expect(named('rmr_from_q_barton')).toMatchObject({
      remark: expect.stringMatching(/^No spread of this line was found/),
    });
    expect(named('rmr_from_q_barton')?.['spread']).toBeNull();
  });

  it('has an unsupported span where every condition of 1974 is met', async () => {
    const q = { ...Q_INPUT, edition: 'q-2013.2', jn: { row: 'D' } };
    await putLog(app, 'F', { ...LOG, from: '1+270', to: '1+280', faceChainage: null, q });
    const { figures } = (await guide('F', 'spanM=6&esr=1.6')) as { figures: Row[] };
    // by hand: Q = 80/4 · 1.5 = 30; 2 · 1.6 · 30^0.4 = 3.2 · 3.89806 = 12.4738 m
    expect(figures.find(({ figure }) => figure === 'maximum_unsupported_span')).toMatchObject({
      value: expect.closeTo(12.4738, 4),
    });
  });

  it('advises ESR 1.0 where Q is 0.1 or less, and uses the one given', async () => {
    // by hand: 10/15 · 1/4 · 0.5/5 = 0.016667
    const q = {
      ...Q_INPUT,
      jn: { row: 'H' },
      jr: { row: 'F' },
      ja: { row: 'E' },
      jw: { row: 'C' },
      srf: { row: 'C' },
    };
    await putLog(app, 'G', { ...LOG, from: '1+290', to: '1+300', faceChainage: null, rqdPercent: 5, q });
    const advice = async (query: string): Promise<Row | undefined> => {
      const body = (await guide('G', query)) as { esrCounted: number; figures: Row[] };
      expect(body.esrCounted).toBe(Number(/esr=([\d.]+)/.exec(query)?.[1]));
      return body.figures.find(({ figure }) => figure === 'esr_advised');
    };
    expect(await advice('esr=1.3&esrType=D')).toMatchObject({
      value: 1,
      mark: 'memory',
      inputs: 'Q 0.0166667, ESR 1.3, type D',
      remark: 'Advice; the figures here count with the ESR given.',
    });
    expect(await advice('esr=1.6')).toMatchObject({
      value: 1,
      remark: expect.stringMatching(/types B, C and D/),
    });
    expect(await advice('esr=1&esrType=E')).toBeUndefined();
    expect(await advice('esr=4&esrType=A')).toBeUndefined();
  });

  it('is reported by GraphQL', async () => {
    const query = `{ drive(project: "P1", drive: "N") { supportGuide(name: "A", spanM: 6, esr: 1.6) { spanM caution figures { figure value mark } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.supportGuide).toMatchObject({ spanM: 6, caution: expect.any(String) });
    expect(body.data.drive.supportGuide.figures[1]).toEqual({
      figure: 'bolt_length',
      value: expect.closeTo(2.5625, 10),
      mark: 'transcribed',
    });
  });

  it.each([
    ['spanM=6', '/esr'],
    ['spanM=0&esr=1', '/spanM'],
    ['spanM=six&esr=1', '/spanM'],
    ['esr=0.4', '/esr'],
    ['esr=5.1', '/esr'], // temporary mine openings have at most 5; the factor of 1.5 is given by support
    ['esr=1&support=none', '/support'],
    ['esr=1.3&esrType=X', '/esrType'],
    ['esr=1.3&esrType=C', '/esr'], // C is 1.6
    ['esr=1&wallHeightM=0', '/wallHeightM'],
    ['esr=1&depth=5', '/depth'],
  ])('does not accept %s', async (query, pointer) => {
    const { status, body } = await app.http.get(`${URL}/ground-logs/A/support-guide?${query}`);
    expect([status, body.errors[0]]).toEqual([422, expect.objectContaining({ in: 'query', pointer })]);
  });

  it('reports an invalid number as it was written', async () => {
    const { body } = await app.http.get(`${URL}/ground-logs/A/support-guide?spanM=&esr=one`);
    const listed = body.errors.map(({ value, detail }: Row) => [value, detail]);
    expect(listed).toEqual([
      ['', 'spanM must be a number'],
      ['one', 'esr must be a number'],
    ]);
  });

  it('of an unknown log is not found', async () => {
    const { status, body } = await app.http.get(`${URL}/ground-logs/Z/support-guide?esr=1`);
    expect([status, body.detail]).toEqual([404, 'There is no ground log Z in drive N.']);
  });
});
