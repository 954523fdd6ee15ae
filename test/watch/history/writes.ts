import type supertest from 'supertest';
import { aBill, anItem } from '../../builders/bill.js';
import { LOG, Q_INPUT, RMR_INPUT } from '../../ground/ground-logs/logs.js';

export type Send = () => PromiseLike<supertest.Response>;

/** A write, and the tables whose rows it changes. */
export type Write = [name: string, send: Send, tables: string[]];

const joint = { chainage: '1+205', type: 'joint', dipDeg: '60', dipDirectionDeg: '135', set: 'J1' };

/** Writes of records other than shifts: bills, geology, photos and notes. */
export const laterWrites = (
  rest: (path: string, body: object) => Send,
  post: (path: string) => supertest.Test,
): Write[] => [
  ['a bill', rest('/drives/N/bills/A', aBill([anItem('T.1'), anItem('T.2')])), ['bill', 'pay_item']],
  [
    'a ground log',
    rest('/drives/N/ground-logs/GL1', { ...LOG, q: Q_INPUT, rmr: RMR_INPUT }),
    ['ground_log_sheet'],
  ],
  ['a discontinuity', rest('/drives/N/discontinuities/D1', joint), ['discontinuity']],
  [
    'a sheet of discontinuities',
    () =>
      post('/drives/N/discontinuities').send({
        discontinuities: [
          { ...joint, name: 'D1' },
          { ...joint, name: 'D2' },
        ],
      }),
    ['discontinuity'],
  ],
  [
    'overbreak',
    rest('/drives/N/overbreak/O1', { from: '1+201', to: '1+203', cause: 'geological', areaM2: '0.5' }),
    ['overbreak_item'],
  ],
  [
    'an investigation',
    rest('/drives/N/investigations/V1', {
      ...{ method: 'resistivity', from: '1+210', to: '1+250', face: '1+205' },
      ...{ madeAt: '2027-03-02T10:00:00Z', madeBy: 'Gerda' },
      indications: [{ key: 'I1', kind: 'void', from: '1+220', to: '1+222' }],
    }),
    ['indication', 'investigation'],
  ],
  [
    'an encounter',
    rest('/drives/N/encounters/E1', {
      ...{ kind: 'void', from: '1+203', to: '1+204', source: 'boring' },
      ...{ metAt: '2027-03-02T10:00:00Z', metBy: 'Gerda' },
    }),
    ['encounter'],
  ],
  [
    'a grouting round',
    rest('/drives/N/grouting-rounds/R1', {
      ...{
        purpose: 'pre_grouting',
        state: 'under_way',
        from: '1+210',
        to: '1+230',
        startedAt: '2027-03-02T10:00:00Z',
      },
      holes: [
        {
          name: 'G1',
          collar: '1+205',
          lookOutDeg: '5',
          lengthM: '25',
          mixes: [{ material: 'Cement', massKg: '50' }],
        },
      ],
    }),
    ['grout_hole', 'grout_mix', 'grout_round'],
  ],
  [
    'a note attached',
    () =>
      post('/drives/N/attachments')
        .field('caption', 'Wedge')
        .attach('file', Buffer.from('Wedge, left of the crown'), 'note.txt'),
    ['attached_file'],
  ],
];
