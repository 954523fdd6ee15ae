import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { app, ownDrives, url } from '../../harness/own-drives.js';

ownDrives('Q');

interface Item {
  kind: string;
  shift?: string;
}

const metres = (items: Item[]): Item[] => items.filter(({ kind }) => kind === 'metres_missing');

const missingOf = async (shift: ShiftBuilder): Promise<Item[]> => {
  const { status, body } = await app.http
    .put(`${url}/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  expect(status).toBe(201);
  return metres(body.openItems as Item[]);
};

it('metres missing before the first boring of a shift, and between two of them, are open items of that shift', async () => {
  const day = aShift('2027-03-01', 'day').withStroke(1, '1+201', '1+202', '06:00', '06:30'); // the drive starts at 1+200
  const night = aShift('2027-03-01', 'night')
    .withStroke(2, '1+202', '1+203', '18:00', '18:30')
    .withStroke(3, '1+203.25', '1+204', '19:00', '19:30');
  const before = { strokeNumber: 1, fromChainage: '1+200.000', toChainage: '1+201.000', missingM: '1.000' };
  const between = { strokeNumber: 3, fromChainage: '1+203.000', toChainage: '1+203.250', missingM: '0.250' };
  expect(await missingOf(day)).toMatchObject([before]);
  expect(await missingOf(night)).toMatchObject([between]);
  expect(metres((await app.http.get(`${url}/open-items`)).body as Item[])).toMatchObject([
    { ...before, shift: 'day' },
    { ...between, shift: 'night' },
  ]);
});
