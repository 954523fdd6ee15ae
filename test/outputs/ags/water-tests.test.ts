import { app, drive, url, ownDrives } from '../../harness/own-drives.js';
import { agsFaults, agsRows } from './checker.js';

// Water tests of a drive as AGS 4.1.1: by test and by step.

ownDrives('GW');

const put = async (where: string, body: object): Promise<void> => {
  const answer = await app.http.put(`${url}${where}`).send(body);
  if (answer.status >= 300) throw new Error(answer.text);
};

const file = async (): Promise<string> => {
  const answer = await app.http.get(`${url}/ags`);
  if (answer.status !== 200) throw new Error(answer.text);
  return answer.text;
};

const step = (gaugeBar: string, flowLPerMin: string, durationMin = '10'): object => ({
  gaugeBar,
  flowLPerMin,
  durationMin,
});

/** In PH1, which is on record, and in W9, which is not. */
const testWater = async (): Promise<void> => {
  const test = { fromDepthM: '12', toDepthM: '15', testedAt: '2026-03-02T09:00:00Z' };
  await put('/probe-holes/PH1', { collar: '1+210', lookOutDeg: '5', lengthM: '30' });
  await put('/water-tests/W1', {
    ...{ ...test, hole: 'PH1', holeDiameterMm: '76', testedBy: 'M.', remark: 'packer seated twice' },
    ...{ staticBar: '1.5', groundwaterBar: '2' },
    steps: [{ ...step('6', '18'), frictionBar: '0.5' }, step('3.5', '5.4', '90.5')],
  });
  await put('/water-tests/W2', { ...test, hole: 'W9', collar: '1+212', steps: [step('10', '2.7')] });
};

it('contains water tests and their steps, of recorded holes and of others', async () => {
  await testWater();
  const text = await file();
  expect(agsFaults(text)).toEqual([]);
  expect(agsRows(text, 'LOCA').map((row) => [row.LOCA_ID, row.LOCA_FDEP, row.LOCA_CNGE])).toEqual([
    [drive, '0.000', '1+200.000'],
    [`${drive}/PH1`, '30.000', '1+210.000'],
    [`${drive}/W9`, '', '1+212.000'],
  ]);
  // Net pressure 6 + 1.5 - 0.5 - 2 = 5 bar are 5 / 0.0980665 = 50.986 m; 18 l/min are 0.3 l/s, and over 3 m at 5 bar 12 Lu. Then 3 bar,
  // 30.591 m; 5.4 l/min are 0.09 l/s and 6 Lu. Without a pattern the highest stands for the test: 12 Lu, K by Moye 1.45952e-6 m/s.
  const key = { LOCA_ID: `${drive}/PH1`, IPRG_TOP: '12.000', IPRG_TESN: 'W1', IPRG_BASE: '15.000' };
  const of = { IPRG_TYPE: 'Water Pressure', IPRG_DATE: '2026-03-02', IPRG_METH: 'Lugeon test' };
  expect(agsRows(text, 'IPRG').slice(0, 3)).toEqual([
    {
      ...{
        ...key,
        ...of,
        IPRG_STG: '',
        IPRG_TDIA: '0.0760',
        IPRG_IPRM: '1.46E-6',
        IPRG_FLOW: '',
        IPRG_HEAD: '',
      },
      IPRG_REM:
        'representative 12.000 Lu, moderate; permeability by Moye at that value; tested by M.; packer seated twice',
    },
    {
      ...{ ...key, ...of, IPRG_STG: '1', IPRG_TDIA: '0.0760', IPRG_IPRM: '' },
      ...{ IPRG_FLOW: '0.3000', IPRG_HEAD: '50.99', IPRG_REM: '12.000 Lu' },
    },
    {
      ...{ ...key, ...of, IPRG_STG: '2', IPRG_TDIA: '0.0760', IPRG_IPRM: '' },
      ...{ IPRG_FLOW: '0.0900', IPRG_HEAD: '30.59', IPRG_REM: '6.000 Lu' },
    },
  ]);
  // 2.7 l/min over 3 m at 10 bar are 0.9 Lu; without a diameter no permeability
  expect(agsRows(text, 'IPRG').slice(3)).toEqual([
    expect.objectContaining({
      ...{ LOCA_ID: `${drive}/W9`, IPRG_STG: '', IPRG_TDIA: '', IPRG_IPRM: '' },
      IPRG_REM: 'representative 0.900 Lu, very low',
    }),
    expect.objectContaining({ IPRG_STG: '1', IPRG_FLOW: '0.0450', IPRG_HEAD: '101.97' }),
  ]);
  expect(agsRows(text, 'IPRT')).toEqual([
    {
      ...{ ...key, IPRG_STG: '1', IPRT_TIME: '00:10:00' },
      IPRT_REM:
        'gauge 6.000 bar; friction 0.500 bar; static column 1.500 bar; groundwater 2.000 bar; net 5.000 bar; flow 18.000 l/min',
    },
    expect.objectContaining({ ...key, IPRG_STG: '2', IPRT_TIME: '01:30:30' }),
    expect.objectContaining({ LOCA_ID: `${drive}/W9`, IPRG_STG: '1', IPRT_TIME: '00:10:00' }),
  ]);
  expect(agsRows(text, 'ABBR')).toContainEqual({
    ...{ ABBR_HDNG: 'IPRG_TYPE', ABBR_CODE: 'Water Pressure', ABBR_DESC: 'Water Pressure test' },
  });
});

it('the checker finds errors planted in them', async () => {
  await testWater();
  const text = await file();
  const stage = /"DATA","[^"]+PH1","12\.000","W1","15\.000","1","W[^\r]*\r\n/.exec(text)?.[0] ?? '';
  const reading = /"DATA","[^"]+PH1","12\.000","W1","15\.000","1","00[^\r]*\r\n/.exec(text)?.[0] ?? '';
  const hole = /"DATA","[^"]+W9","EH"[^\r]*\r\n/.exec(text)?.[0] ?? '';
  const planted: [rule: string, text: string][] = [
    ['7', text.replace('"IPRG_TOP","IPRG_TESN"', '"IPRG_TESN","IPRG_TOP"')],
    ['8', text.replace('"1.46E-6"', '"1.5E-6"')],
    ['8', text.replace('"1.46E-6"', '"0.00000146"')],
    ['8', text.replace('"00:10:00"', '"10"')],
    ['8', text.replace('"0.3000"', '"0.3"')],
    ['9', text.replace('"IPRG_HEAD"', '"IPRG_NETP"')],
    ['10a', text.replace(stage, stage + stage)],
    ['10a', text.replace(reading, reading + reading)],
    ['10c', text.replace(stage, '')],
    ['10c', text.replace(hole, '')],
    ['15', text.replace('"DATA","hh:mm:ss"', '"DATA","hh:mm"')],
    ['16', text.replace('"DATA","IPRG_TYPE","Water Pressure"', '"DATA","IPRG_TYPE","Packer test"')],
    ['17', text.replace('"DATA","T","Elapsed time"', '"DATA","YN","Elapsed time"')],
  ];
  for (const [rule, wrong] of planted) {
    expect(wrong).not.toBe(text);
    const found = agsFaults(wrong).map((fault) => fault.split(':')[0]);
    expect({ rule, found }).toEqual({ rule, found: expect.arrayContaining([rule]) });
  }
});
