import type { Office } from '../../harness/office.js';
import { BOTH, type Body, type Parties, REASON, startParties, summaryOf } from './parties.js';

// From proposed to agreed or disputed to withdrawn, by those who may.

let app: Office;
let put: Parties['put'];
let get: Parties['get'];
let step: Parties['step'];
let url: Parties['url'];

beforeAll(async () => {
  ({ office: app, put, get, step, url } = await startParties());
});

afterAll(() => app.close());

let metres = 0;

/** A length without any other decision. */
const fresh = (groundClass = 'A'): Body => {
  metres += 2;
  return { from: `1+${200 + metres}`, to: `1+${202 + metres}`, groundClass };
};

let numbers = 100;

/** A decision proposed by gina. */
const proposed = async (body: Body = fresh(), drive = 'N'): Promise<number> => {
  numbers += 1;
  const answer = await put('gina', numbers, body, {}, drive);
  if (answer.status !== 201) throw new Error(answer.text);
  return numbers;
};

describe('a class decision', () => {
  it('is proposed, agreed by another and withdrawn, each by its current tag', async () => {
    const body = { from: '1+800', to: '1+812.5', groundClass: 'B', remark: 'after mapping', ...BOTH };
    const first = await put('gina', 1, body);
    expect([first.status, first.headers['etag']]).toEqual([201, first.body.etag]);
    expect(first.body).toEqual({
      number: 1,
      state: 'proposed',
      from: '1+800.000',
      to: '1+812.500',
      lengthM: '12.500',
      groundClass: 'B',
      ...BOTH,
      remark: 'after mapping',
      proposedBy: 'gina',
      proposedAt: expect.stringMatching(/^20/),
      agreedBy: null,
      agreedAt: null,
      disputedBy: null,
      disputedAt: null,
      proposedFor: null,
      agreedFor: null,
      disputedFor: null,
      withdrawnFor: null,
      signatures: null,
      disputeReason: null,
      withdrawnBy: null,
      withdrawnAt: null,
      withdrawalReason: null,
      etag: expect.stringMatching(/^"[0-9a-f]{64}"$/),
    });
    expect((await get(1)).body).toEqual(first.body);
    const agreed = await step('quinn', 1, 'agree');
    expect([agreed.status, agreed.body]).toEqual([
      200,
      {
        ...first.body,
        state: 'agreed',
        agreedBy: 'quinn',
        agreedAt: expect.any(String),
        signatures: 'parties_not_recorded',
        etag: expect.any(String),
      },
    ]);
    const withdrawn = await step('boris', 1, 'withdraw', REASON);
    expect(withdrawn.body).toEqual({
      ...agreed.body,
      state: 'withdrawn',
      withdrawnBy: 'boris',
      withdrawnAt: expect.any(String),
      withdrawalReason: REASON.reason,
      etag: expect.any(String),
    });
    const tags = [first, agreed, withdrawn].map((answer) => answer.body.etag);
    expect(new Set(tags).size).toBe(3);
    expect([agreed, withdrawn].map((answer) => answer.headers['etag'])).toEqual(tags.slice(1));
    // its place can be reused, its number cannot
    expect(summaryOf(await put('gina', 1, { ...body, remark: 'anew' }, { 'If-Match': tags[2] }))).toEqual([
      409,
      'class decision 1 is withdrawn: make another',
    ]);
    expect((await put('gina', 2, body)).status).toBe(201);
    const { body: changes } = await app.as('boris').http.get('/v1/projects/P1/changes?first=1000');
    expect(
      (changes.items as Body[])
        .filter(({ tables }) => (tables as string[]).includes('class_decision'))
        .map(({ actor, reason }) => [actor, reason]),
    ).toEqual([
      ['gina', null],
      ['quinn', null],
      ['boris', REASON.reason],
      ['gina', null],
    ]);
  });

  it('is disputed by another for a reason, then agreed or withdrawn', async () => {
    const number = await proposed({ ...fresh(), ...BOTH });
    const disputed = await step('clara', number, 'dispute', REASON);
    expect(disputed.body).toMatchObject({
      state: 'disputed',
      disputedBy: 'clara',
      disputedAt: expect.any(String),
      disputeReason: REASON.reason,
    });
    const { etag } = disputed.body;
    expect(summaryOf(await put('gina', number, fresh('B'), { 'If-Match': etag }))).toEqual([
      409,
      `class decision ${number} is disputed: withdraw it before you replace it`,
    ]);
    expect(summaryOf(await step('boris', number, 'dispute', REASON))).toEqual([
      409,
      `class decision ${number} is disputed, not proposed`,
    ]);
    expect((await step('boris', number, 'agree')).body).toMatchObject({
      state: 'agreed',
      agreedBy: 'boris',
      disputedBy: 'clara',
    });
    const other = await proposed();
    await step('clara', other, 'dispute', REASON);
    expect((await step('quinn', other, 'withdraw', REASON)).body).toMatchObject({ state: 'withdrawn' });
  });

  it('is agreed only with both parties named', async () => {
    const number = await proposed({ ...fresh(), contractorRepresentative: 'First' });
    const refused = await step('boris', number, 'agree', { contractorRepresentative: '  ' });
    expect([refused.status, refused.body.errors]).toEqual([
      422,
      [
        ['contractorRepresentative', 'contractor'],
        ['employerRepresentative', 'client'],
      ].map(([field, party]) =>
        expect.objectContaining({
          in: 'body',
          pointer: `/${field}`,
          detail: `class decision ${number} needs the representatives of both parties to be agreed: give ${field}, the representative of the ${party}`,
        }),
      ),
    ]);
    const { body } = await step('boris', number, 'agree', { employerRepresentative: 'Second' });
    expect(body).toMatchObject({
      state: 'agreed',
      contractorRepresentative: 'First',
      employerRepresentative: 'Second',
    });
  });

  it('is never agreed, disputed or withdrawn again by the person who proposed it', async () => {
    numbers += 1;
    const number = numbers;
    await put('boris', number, { ...fresh(), ...BOTH });
    for (const [what, words] of [
      ['agree', 'agrees to'],
      ['dispute', 'disputes'],
    ] as const)
      expect(summaryOf(await step('boris', number, what, what === 'agree' ? {} : REASON))).toEqual([
        403,
        `class decision ${number} was proposed by boris: another person ${words} it`,
      ]);
    await step('clara', number, 'agree');
    expect(summaryOf(await step('boris', number, 'withdraw', REASON))).toEqual([
      403,
      `class decision ${number} was proposed by boris: another person withdraws it`,
    ]);
    expect((await step('clara', number, 'withdraw', REASON)).status).toBe(200);
  });

  it('is proposed by the last person who wrote it: the first may then agree, the other may not', async () => {
    const body = { ...fresh(), ...BOTH };
    numbers += 1;
    const number = numbers;
    const { body: first } = await put('boris', number, body);
    const changed = await put('clara', number, { ...body, groundClass: 'B' }, { 'If-Match': first.etag });
    expect([changed.status, changed.body.proposedBy, changed.body.groundClass]).toEqual([200, 'clara', 'B']);
    expect((await step('clara', number, 'agree')).status).toBe(403);
    expect((await step('boris', number, 'agree')).body).toMatchObject({
      proposedBy: 'clara',
      agreedBy: 'boris',
    });
  });

  it('needs the permission', async () => {
    const number = await proposed({ ...fresh(), ...BOTH });
    for (const who of ['vera', 'quinn', 'olga']) expect((await put(who, 9, fresh())).status).toBe(403);
    for (const who of ['vera', 'gina', 'olga']) expect((await step(who, number, 'agree')).status).toBe(403);
    expect((await get(number)).body.state).toBe('proposed');
  });

  it('put with the same content is unchanged, by anybody and with any version', async () => {
    const body = { ...fresh(), ...BOTH };
    const number = await proposed(body);
    const { body: standing } = await get(number);
    const headers: Record<string, string>[] = [{}, { 'If-Match': '"stale"' }];
    for (const header of headers) {
      const again = await put('boris', number, { ...body, from: standing.from, to: standing.to }, header);
      expect([again.status, again.body]).toEqual([200, standing]);
    }
    await step('clara', number, 'agree');
    expect((await put('boris', number, body)).body).toMatchObject({ state: 'agreed', proposedBy: 'gina' });
  });

  it('is replaced and removed only by its tag', async () => {
    const number = await proposed();
    const { etag } = (await get(number)).body;
    const other = { ...fresh('B'), remark: 'other' };
    expect((await put('gina', number, other)).status).toBe(428);
    expect((await put('gina', number, other, { 'If-None-Match': '*' })).status).toBe(412);
    expect(summaryOf(await put('gina', number, other, { 'If-Match': '"stale"' }))).toEqual([
      412,
      `the class decision ${number} has changed since: it is now ${etag}`,
    ]);
    expect((await put('gina', 999, other, { 'If-Match': etag })).status).toBe(412);
    const replaced = await put('gina', number, other, { 'If-Match': etag });
    expect(replaced.body).toMatchObject({ remark: 'other', groundClass: 'B' });
    const remove = (tag?: string) =>
      app
        .as('gina')
        .http.delete(`${url()}/class-decisions/${number}`)
        .set(tag === undefined ? {} : { 'If-Match': tag });
    expect([(await remove()).status, (await remove(etag)).status]).toEqual([428, 412]);
    expect((await remove(replaced.body.etag)).status).toBe(204);
    for (const answer of [await get(number), await remove(etag)])
      expect(summaryOf(answer)).toEqual([404, `There is no class decision ${number} in drive N.`]);
    const agreed = await proposed({ ...fresh(), ...BOTH });
    const { body } = await step('boris', agreed, 'agree');
    const refused = await app
      .as('gina')
      .http.delete(`${url()}/class-decisions/${agreed}`)
      .set('If-Match', body.etag);
    expect(summaryOf(refused)).toEqual([409, `class decision ${agreed} is agreed: it cannot be removed`]);
    const steps = ['agree', 'withdraw', 'dispute'].map((what) =>
      app
        .as('boris')
        .http.post(`${url()}/class-decisions/${agreed}/${what}`)
        .send(what === 'agree' ? {} : REASON),
    );
    for (const { status } of await Promise.all(steps)) expect(status).toBe(428);
    expect(summaryOf(await step('boris', 998, 'agree'))).toEqual([
      404,
      'There is no class decision 998 in drive N.',
    ]);
  });

  it('overlaps no other: each that it overlaps is reported, except withdrawn ones', async () => {
    const body = (from: string, to: string): Body => ({ from, to, groundClass: 'A', ...BOTH });
    await put('gina', 11, body('2+180', '2+170'), {}, 'S');
    await put('gina', 12, body('2+170', '2+160'), {}, 'S');
    await step('boris', 12, 'agree', {}, 'S');
    const meets = await put('gina', 13, body('2+175', '2+162.5'), {}, 'S');
    expect([meets.status, (meets.body.errors as Body[]).map(({ detail }) => detail)]).toEqual([
      409,
      [
        '2+175 to 2+162.5 overlaps class decision 11 (A, proposed), 2+180.000 to 2+170.000: 5.000 m twice',
        '2+175 to 2+162.5 overlaps class decision 12 (A, agreed), 2+170.000 to 2+160.000: 7.500 m twice',
      ],
    ]);
    expect((await put('gina', 13, body('2+160', '2+150'), {}, 'S')).status).toBe(201); // touching is not overlapping
    await step('clara', 12, 'withdraw', REASON, 'S');
    expect((await put('gina', 14, body('2+170', '2+162.5'), {}, 'S')).status).toBe(201);
    const moved = { ...body('2+180', '2+165') };
    const { etag } = (await get(11, 'S')).body;
    expect((await put('gina', 11, moved, { 'If-Match': etag }, 'S')).body.errors).toHaveLength(1);
  });

  it('is listed a page at a time, withdrawn ones too', async () => {
    const pages: Body[] = [];
    let after = 0;
    for (;;) {
      const { body } = await app.as('vera').http.get(`${url('S')}/class-decisions?first=2&after=${after}`);
      pages.push(...(body.items as Body[]));
      if (body.next == null) break;
      after = body.next as number;
    }
    expect(pages.map(({ number, state }) => [number, state])).toEqual([
      [11, 'proposed'],
      [12, 'withdrawn'],
      [13, 'proposed'],
      [14, 'proposed'],
    ]);
    expect(pages[0]).toEqual((await get(11, 'S')).body);
  });

  it('works in the same way by GraphQL', async () => {
    const ask = async (who: string, query: string) =>
      (await app.as(who).http.post('/graphql').send({ query })).body as {
        data: Record<string, Body> | null;
        errors?: { message: string; extensions: { status: number } }[];
      };
    const at = 'project: "P1", drive: "N", number: 50';
    const input = `{ from: "1+900", to: "1+910", groundClass: "A", employerRepresentative: "E" }`;
    const { data } = await ask(
      'boris',
      `mutation { putClassDecision(${at}, input: ${input}) { state etag } }`,
    );
    const etag = String(data?.['putClassDecision']?.['etag']);
    const tag = `ifMatch: ${JSON.stringify(etag)}`;
    const own = await ask(
      'boris',
      `mutation { agreeClassDecision(${at}, ${tag}, input: { contractorRepresentative: "C" }) { state } }`,
    );
    expect([own.errors?.[0]?.extensions.status, own.errors?.[0]?.message]).toEqual([
      403,
      'class decision 50 was proposed by boris: another person agrees to it',
    ]);
    const disputed = await ask(
      'clara',
      `mutation { disputeClassDecision(${at}, ${tag}, reason: "soft") { state disputeReason etag } }`,
    );
    expect(disputed.data?.['disputeClassDecision']).toMatchObject({
      state: 'disputed',
      disputeReason: 'soft',
    });
    const next = `ifMatch: ${JSON.stringify(disputed.data?.['disputeClassDecision']?.['etag'])}`;
    const agreed = await ask(
      'clara',
      `mutation { agreeClassDecision(${at}, ${next}, input: { contractorRepresentative: "C" }) { state agreedBy etag } }`,
    );
    expect(agreed.data?.['agreeClassDecision']).toMatchObject({ state: 'agreed', agreedBy: 'clara' });
    const last = `ifMatch: ${JSON.stringify(agreed.data?.['agreeClassDecision']?.['etag'])}`;
    const withdrawn = await ask(
      'clara',
      `mutation { withdrawClassDecision(${at}, ${last}, reason: "moved") { state withdrawalReason } }`,
    );
    expect(withdrawn.data?.['withdrawClassDecision']).toEqual({
      state: 'withdrawn',
      withdrawalReason: 'moved',
    });
    const removed = await ask('gina', `mutation { removeClassDecision(${at}, ${last}) }`);
    expect(removed.errors?.[0]?.extensions.status).toBe(412);
    const read = await ask(
      'vera',
      `{ drive(project: "P1", drive: "N") { classDecision(number: 50) { number from agreedBy }
        classDecisions(first: 1, after: "49") { nodes { number } pageInfo { hasNextPage endCursor } } } }`,
    );
    expect(read.data).toEqual({
      drive: {
        classDecision: { number: 50, from: '1+900.000', agreedBy: 'clara' },
        classDecisions: { nodes: [{ number: 50 }], pageInfo: { hasNextPage: true, endCursor: '50' } },
      },
    });
  });

  it('that is invalid is refused, and nothing is written', async () => {
    const before = await app.contents();
    const good = { from: '1+950', to: '1+960', groundClass: 'A' };
    const cases: [Body, string, RegExp][] = [
      [{}, '/from', /^from is missing$/],
      [{ ...good, from: 'here' }, '/from', /must be a chainage/],
      [{ ...good, from: '1+199.999' }, '/from', /lies behind the start of the drive at 1\+200\.000$/],
      [{ ...good, to: '2+200.001' }, '/to', /lies beyond the end of the drive at 2\+200\.000$/],
      [
        { ...good, to: '1+950' },
        '/to',
        /^1\+950 does not lie ahead of 1\+950: the drive runs with rising chainage$/,
      ],
      [{ ...good, to: '1+940' }, '/to', /does not lie ahead/],
      [
        { ...good, groundClass: 'Z' },
        '/groundClass',
        /^ground class Z is not in the project: its ground classes are A, B/,
      ],
      [
        { ...good, state: 'agreed' },
        '/state',
        /^state cannot be changed \(current value "proposed"\): omit it or send it unchanged$/,
      ],
      [{ ...good, remark: 'x'.repeat(501) }, '/remark', /500/],
    ];
    for (const [body, pointer, detail] of cases) {
      const answer = await put('gina', 60, body);
      expect([answer.status, answer.body.errors]).toEqual([
        422,
        expect.arrayContaining([expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })]),
      ]);
    }
    for (const number of ['0', '-1', 'x', '1.5', '3000000000'])
      expect((await put('gina', number, good)).status).toBe(422);
    expect(summaryOf(await put('gina', 60, good, {}, 'NONE'))).toEqual([
      404,
      'There is no drive NONE in project P1.',
    ]);
    for (const what of ['dispute', 'withdraw'])
      for (const reason of ['', '  ', undefined])
        expect((await step('boris', 2, what, { reason })).status).toBe(422);
    expect(await app.contents()).toBe(before);
  });
});
