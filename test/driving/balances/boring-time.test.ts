import { aShift } from '../../builders/shift.js';
import { app, ownDrives, url } from '../../harness/own-drives.js';

// The boring time of the activities equals that of the strokes, which is 40 min here: neither more nor less is booked. By hand: 40 min are 0.6667 h.

ownDrives('BT');

const shiftOf = (bookedUntil: string) =>
  aShift()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40')
    .withActivity('BORE', '06:00', bookedUntil)
    .withActivity('MAINT', bookedUntil, '18:00');

const differs = (hours: string): object => ({
  kind: 'boring_time_differs',
  detail: `shift 2027-03-01 day: ${hours} h of boring in the activities, but 0.6667 h in the strokes`,
});

it.each([
  ['06:30', [differs('0.5000')]],
  ['06:40', []],
  ['06:50', [differs('0.8333')]],
])('boring booked until %s', async (until, expected) => {
  const address = `${url}/shifts/2027-03-01/day`;
  const draft = await app.http.put(address).send(shiftOf(until).build());
  expect(draft.body.openItems).toEqual(expected.map((item) => expect.objectContaining(item)));
  const submitted = await app.http
    .put(address)
    .set('If-Match', draft.headers.etag ?? '')
    .send(shiftOf(until).submitted().build());
  expect([submitted.status, submitted.body.type]).toEqual(
    expected.length === 0 ? [200, undefined] : [409, '/docs/problems#incomplete'],
  );
});
