import { G1, ROUND } from '../ahead/grouting/rounds.js';
import { app, ownDrives, url } from '../harness/own-drives.js';

// Computed decimals are answered as text. A client may put them back as JSON numbers; they are compared with what is stored.

ownDrives('CN');

type Body = Record<string, unknown>;

const put = (body: object) => app.http.put(`${url}/grouting-rounds/R1`).send(body);

/** A body with its decimals as JSON numbers. */
const inNumbers = (body: object): Body =>
  JSON.parse(
    JSON.stringify(body).replaceAll(/"(-?\d+\.\d+)"/g, (_, digits) => String(Number(digits))),
  ) as Body;

it('computed decimals may be put back as numbers, if they are the same', async () => {
  const { body: read } = await put({ ...ROUND, holes: [G1] });
  const sent = inNumbers(read as Body);
  expect(sent).toMatchObject({ groutingHours: 1.5, holeCount: 1, holes: [{ axialReachM: 29.886 }] });
  const again = await put({ ...sent, holeCount: '1' });
  expect([again.status, again.body]).toEqual([200, read]);
});

it('one that differs is refused, as a number or as text', async () => {
  const { body: read } = await put({ ...ROUND, holes: [G1] });
  for (const groutingHours of [1.4, '1.4', '01.5', 'x', [1.5], { value: 1.5 }]) {
    const { status, body } = await put({ ...(read as Body), groutingHours });
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer: '/groutingHours',
          detail: 'groutingHours cannot be changed (current value "1.5000"): omit it or send it unchanged',
        }),
      ],
    ]);
  }
});
