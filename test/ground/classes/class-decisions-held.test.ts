import type pg from 'pg';
import type { Office } from '../../harness/office.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { BOTH, type Body, type Parties, REASON, startParties } from './parties.js';

// Rules of class decisions enforced by the database, whatever statement is sent, and lengths without a decision.

let app: Office;
let service: pg.Client;
let put: Parties['put'];
let step: Parties['step'];
let url: Parties['url'];

beforeAll(async () => {
  ({ office: app, put, step, url } = await startParties());
  await put('gina', 2, { from: '1+800', to: '1+812.5', groundClass: 'B', ...BOTH });
  service = await serviceSession(app.url);
});

afterAll(async () => {
  await service.end();
  await app.close();
});

describe('by SQL, as the service', () => {
  const one = `where number = 2 and drive_id = (select id from public.drive where code = 'N')`;
  const by = (actor: string, sql: string, reason = ''): string =>
    `select set_config('drivebook.actor', '${actor}', true), set_config('drivebook.reason', '${reason}', true); ${sql}`;
  const state = (to: string, more = ''): string =>
    `update public.class_decision set state = '${to}' ${more} ${one}`;
  const shadow = ['class_decision', 'drive']
    .map((name) => `create temp table ${name} (like public.${name});`)
    .join(' ');
  const agreed = by('boris', state('agreed')); // gina proposed 2, with both parties named

  it.each<[string, string, string, string | undefined]>([
    ['agreeing alone', by('gina', state('agreed')), 'DB003', 'second_person'],
    [
      'agreeing in another’s name',
      by('gina', state('agreed', `, agreed_by = 'boris', proposed_by = 'clara'`)),
      'DB003',
      'second_person',
    ],
    ['agreeing by another', agreed, 'taken', undefined],
    [
      'agreeing to something else',
      by('boris', state('agreed', ', to_m = to_m - 1')),
      'DB002',
      'class_decision_stands',
    ],
    [
      'agreeing without a name',
      by('boris', state('agreed', `, employer_representative = ' '`)),
      '23514',
      'class_decision_both_parties',
    ],
    ['disputing without a reason', by('boris', state('disputed')), 'DB002', 'class_decision_reason'],
    ['disputing alone', by('gina', state('disputed'), 'why'), 'DB003', 'second_person'],
    ['disputing by another', by('boris', state('disputed'), 'why'), 'taken', undefined],
    ['withdrawing a proposal', by('boris', state('withdrawn'), 'why'), 'DB002', 'class_decision_stands'],
    [
      'changing an agreed one',
      `${agreed}; update public.class_decision set to_m = to_m - 1 ${one}`,
      'DB002',
      'class_decision_stands',
    ],
    [
      'renaming the person recorded',
      `${agreed}; update public.class_decision set employer_representative = 'x' ${one}`,
      'DB002',
      'class_decision_stands',
    ],
    ['making it a proposal again', `${agreed}; ${state('proposed')}`, 'DB002', 'class_decision_stands'],
    [
      'removing an agreed one',
      `${agreed}; delete from public.class_decision ${one}`,
      'DB002',
      'class_decision_stands',
    ],
    [
      'withdrawing without a reason',
      `${agreed}; ${by('clara', state('withdrawn'))}`,
      'DB002',
      'class_decision_reason',
    ],
    [
      'the proposer withdrawing it',
      `${agreed}; ${by('gina', state('withdrawn'), 'why')}`,
      'DB003',
      'second_person',
    ],
    ['withdrawing with a reason', `${agreed}; ${by('clara', state('withdrawn'), 'why')}`, 'taken', undefined],
    [
      'the proposer withdrawing a disputed one',
      `${by('boris', state('disputed'), 'why')}; ${by('gina', state('withdrawn'), 'soft')}`,
      'taken',
      undefined,
    ],
    [
      'a decision agreed from the start',
      `insert into public.class_decision (drive_id, number, from_m, to_m, ground_class_id, state, agreed_by, agreed_at, contractor_representative, employer_representative)
        select drive_id, 70, 900, 901, ground_class_id, 'agreed', 'x', now(), 'x', 'y' from public.class_decision ${one}`,
      'DB002',
      'class_decision_stands',
    ],
    [
      'two at one place',
      `insert into public.class_decision (drive_id, number, from_m, to_m, ground_class_id) select drive_id, 70, from_m, to_m, ground_class_id from public.class_decision ${one}`,
      '23P01',
      'class_decision_once',
    ],
    [
      'one beyond the drive',
      `insert into public.class_decision (drive_id, number, from_m, to_m, ground_class_id) select drive_id, 70, 999, 1000.001, ground_class_id from public.class_decision ${one}`,
      'DB001',
      'within_drive',
    ],
    [
      'agreeing alone beside tables of the same names',
      by('gina', `${shadow} ${state('agreed')}`),
      'DB003',
      'second_person',
    ],
    [
      'one beyond the drive beside tables of the same names',
      `${shadow} insert into public.class_decision (drive_id, number, from_m, to_m, ground_class_id) select drive_id, 70, 999, 1000.001, ground_class_id from public.class_decision ${one}`,
      'DB001',
      'within_drive',
    ],
    [
      'another start of the drive',
      `update public.drive set start_chainage_m = 1201 where code = 'N'`,
      'DB002',
      'drive_start_fixed',
    ],
    [
      'an end before it',
      `update public.drive set end_chainage_m = 1811 where code = 'N'`,
      'DB002',
      'drive_end_behind_class',
    ],
  ])('%s is refused', async (_, sql, said, constraint) => {
    const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
    expect(await refusalOf(service, project?.id, sql)).toMatchObject({
      state: said,
      ...(constraint && { constraint }),
    });
  });
});

describe('what is missing', () => {
  it('is every driven metre without an agreed decision; readable as of each moment', async () => {
    const drive = 'EMPTY';
    const gaps = async (asOf = '') =>
      ((await app.as('vera').http.get(`${url(drive)}/class-decision-gaps${asOf}`)).body as Body[]).map(
        ({ kind, from, to, lengthM, decision, groundClass }) =>
          [kind, from, to, lengthM, decision, groundClass].join(' ').trim(),
      );
    expect(await gaps()).toEqual([]); // nothing driven
    await app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m) select id, 1, 0, 30 from drive where code = $1`,
      [drive],
    );
    expect(await gaps()).toEqual(['undecided 1+200.000 1+230.000 30.000']);
    await put('gina', 1, { from: '1+205', to: '1+210', groundClass: 'A', ...BOTH }, {}, drive);
    await put('gina', 2, { from: '1+210', to: '1+214', groundClass: 'B', ...BOTH }, {}, drive);
    await put('gina', 3, { from: '1+220', to: '1+240', groundClass: 'B', ...BOTH }, {}, drive);
    await step('boris', 2, 'agree', {}, drive);
    await step('boris', 3, 'dispute', REASON, drive);
    const expected = [
      'undecided 1+200.000 1+205.000 5.000',
      'proposed 1+205.000 1+210.000 5.000 1 A',
      'undecided 1+214.000 1+220.000 6.000',
      'disputed 1+220.000 1+230.000 10.000 3 B',
    ]; // 26 m, and 4 m agreed
    expect(await gaps()).toEqual(expected);
    const moment = new Date().toISOString();
    await step('boris', 3, 'agree', {}, drive);
    expect(await gaps()).toEqual(expected.slice(0, 3));
    expect(await gaps(`?asOf=${moment}`)).toEqual(expected);
    const query = `{ drive(project: "P1", drive: "EMPTY") { classDecisionGaps { kind } governingClasses(first: 2) { nodes { number from to groundClass basis lengthM contested { number state groundClass } } pageInfo { hasNextPage endCursor } }
      groundStrip(first: 1, after: "1") { nodes { number from to lengthM lithology notedClass governingClass basis contested { number state groundClass } } pageInfo { hasNextPage endCursor } } } }`;
    const { body } = await app.as('vera').http.post('/graphql').send({ query });
    expect(body.data.drive).toEqual({
      classDecisionGaps: [{ kind: 'undecided' }, { kind: 'proposed' }, { kind: 'undecided' }],
      governingClasses: {
        nodes: [
          {
            number: 1,
            from: '1+205.000',
            to: '1+210.000',
            groundClass: null,
            basis: null,
            lengthM: '5.000',
            contested: { number: 1, state: 'proposed', groundClass: 'A' },
          },
          {
            number: 2,
            from: '1+210.000',
            to: '1+214.000',
            groundClass: 'B',
            basis: 'agreed',
            lengthM: '4.000',
            contested: null,
          },
        ],
        pageInfo: { hasNextPage: true, endCursor: '2' },
      },
      groundStrip: {
        nodes: [
          {
            number: 2,
            from: '1+205.000',
            to: '1+210.000',
            lengthM: '5.000',
            lithology: null,
            notedClass: null,
            governingClass: null,
            basis: null,
            contested: { number: 1, state: 'proposed', groundClass: 'A' },
          },
        ],
        pageInfo: { hasNextPage: true, endCursor: '2' },
      },
    });
    const governing = async (asOf: string) =>
      ((await app.as('vera').http.get(`${url(drive)}/governing-classes${asOf}`)).body as Body[]).map(
        ({ basis, contested }) => [basis, (contested as Body | null)?.['state']].filter(Boolean).join(),
      );
    expect([await governing(''), await governing(`?asOf=${moment}`)]).toEqual([
      ['proposed', 'agreed', 'agreed'],
      ['proposed', 'agreed', 'disputed'],
    ]);
  });
});
