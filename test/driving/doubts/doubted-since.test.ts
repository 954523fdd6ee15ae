import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { app, ownDrives, url } from '../../harness/own-drives.js';

ownDrives('Q');

beforeAll(() => app.sql('delete from doubt_limit')); // the defaults count

const LOADS = { thrustKn: 9000, torqueKnm: 900, rotationRpm: 6, penetrationMmPerRev: 8 };
const at = ({ date, shift }: ShiftBuilder): string => `${url}/shifts/${date}/${shift}`;

const day = (to: string) =>
  aShift('2027-03-01')
    .submitted()
    .withStroke(1, '1+200', to, '06:00', '06:40', LOADS)
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '18:00');

const next = aShift('2027-03-02')
  .submitted()
  .withSupport('BOLT', '1+200', '1+201.7', '20')
  .withActivity('MAINT', '06:00', '18:00');

it('a shift that became doubtful after it was submitted is not countersigned before that is confirmed', async () => {
  const first = await app.http.put(at(day('1+201.7'))).send(day('1+201.7').build());
  const second = await app.http.put(at(next)).send(next.build());
  expect([first.status, second.status, second.body.openItems]).toEqual([201, 201, []]);
  // 0.9 m were bored, so that the support of the other shift reaches 0.8 m ahead of the face
  const corrected = await app.http
    .put(at(day('1+200.9')))
    .set('If-Match', first.body.etag)
    .send(day('1+200.9').build());
  expect(corrected.status).toBe(200);
  const countersign = (etag: string) => app.http.post(`${at(next)}/countersign`).set('If-Match', etag);

  const before = await app.contents();
  const refused = await countersign(second.body.etag);
  expect([refused.status, refused.body.type]).toEqual([409, '/docs/problems#incomplete']);
  expect(refused.body.errors).toEqual([
    {
      in: 'path',
      pointer: '/shift',
      value: 'day',
      detail: expect.stringMatching(
        /reaches 0.8 m ahead of the face.*confirm it: "confirm": \[{"doubt": "ahead_of_face"/,
      ),
    },
  ]);
  expect(await app.contents()).toBe(before);

  const confirm = [{ doubt: 'ahead_of_face', from: '1+200', reason: 'spiled ahead' }];
  const confirmed = await app.http
    .put(at(next))
    .set('If-Match', second.body.etag)
    .send({ ...next.build(), confirm });
  expect([confirmed.status, confirmed.body.openItems]).toEqual([200, []]);
  const own = await countersign(confirmed.body.etag);
  expect([own.status, own.body.detail]).toEqual([403, expect.stringContaining('posted')]); // only the signature of another is lacking
});
