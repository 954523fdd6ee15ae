import { mkdtemp, readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { captured } from '../../harness/captured-command.js';
import { app, drive, toDrive, url, ownDrives } from '../../harness/own-drives.js';
import { agsFaults, agsRows } from './checker.js';

// The ground of a drive as AGS 4.1.1, read by its own checker.

ownDrives('G');

const put = async (where: string, body: object): Promise<void> => {
  const answer = await app.http.put(`${url}${where}`).send(body);
  if (answer.status >= 300) throw new Error(answer.text);
};

const file = async (query = ''): Promise<string> => {
  const answer = await app.http.get(`${url}/ags${query}`);
  if (answer.status !== 200) throw new Error(answer.text);
  return answer.text;
};

const record = async (): Promise<void> => {
  await put('/probe-holes/PH1', {
    ...{
      collar: '1+210',
      lookOutDeg: '5',
      lengthM: '30',
      positionDeg: '90',
      waterInflowLPerMin: '4',
      waterDepthM: '12.5',
    },
    ...{ drilledAt: '2026-03-01T20:15:00Z', remark: 'Kluft, 20° "offen"\nNässe' },
  });
  await put('/probe-holes/PH2', { collar: '1+210', lookOutDeg: '0', lengthM: '20.004' });
  const joint = { type: 'joint', dipDeg: '60', dipDirectionDeg: '135.5', set: 'J1' };
  await put('/discontinuities/D1', {
    ...{
      ...joint,
      chainage: '1+201.001',
      spacingM: '0.2',
      persistenceM: '2.5',
      apertureMm: '0.5',
      roughness: 'slightly_rough',
    },
    ...{
      infilling: 'soft',
      infillingMaterial: 'clay',
      weathering: 'slight',
      seepage: 'wet',
      mappedBy: 'Zoë',
    },
  });
  await put('/discontinuities/D2', { ...joint, chainage: '1+201.004', spacingM: '0.4' });
  await put('/discontinuities/D3', { ...joint, type: 'shear_zone', set: null, chainage: '1+230' });
  const met = {
    kind: 'water_bearing',
    from: '1+221',
    to: '1+223',
    metAt: '2026-03-02T00:00:00Z',
    metBy: 'M.',
  };
  await put('/encounters/E1', { ...met, source: 'boring' });
  await put('/encounters/E2', { ...met, kind: 'fractured', source: 'mapping', remark: 'wedge' });
  await app.sql(
    `with shift_of as (
        insert into shift (drive_id, project_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
          select d.id, d.project_id, '2026-03-01', c.id, '2026-03-01 06:00Z', '2026-03-01 18:00Z', 'draft', repeat('0', 64)
          from drive d join calendar_shift c on c.project_id = d.project_id and c.name = 'day' where d.code = $1 returning *
      ), bored as (
        insert into boring (drive_id, project_id, stroke_number, from_m, to_m) select drive_id, project_id, 1, 0, 40 from shift_of
      )
      insert into ground_interval (drive_id, project_id, shift_id, from_m, to_m, ground_class_id, lithology)
        select s.drive_id, s.project_id, s.id, 0, 12.345, c.id, 'Gneiß, grau' from shift_of s join ground_class c on c.project_id = s.project_id and c.code = 'A'`,
    [drive],
  );
};

it('follows the rules, and contains what was recorded', async () => {
  await record();
  const text = await file();
  expect(agsFaults(text)).toEqual([]);
  expect(agsRows(text, 'LOCA')).toEqual([
    expect.objectContaining({
      ...{
        LOCA_ID: drive,
        LOCA_TYPE: 'TRAV',
        LOCA_FDEP: '40.000',
        LOCA_ALID: drive,
        LOCA_OFFS: '0.000',
        LOCA_CNGE: '1+200.000',
      },
    }),
    expect.objectContaining({
      ...{
        LOCA_ID: `${drive}/PH1`,
        LOCA_TYPE: 'EH',
        LOCA_FDEP: '30.000',
        LOCA_STAR: '2026-03-01',
        LOCA_CNGE: '1+210.000',
      },
      LOCA_REM: 'Kluft, 20 deg "offen" Nasse',
    }),
    expect.objectContaining({ LOCA_ID: `${drive}/PH2`, LOCA_FDEP: '20.004', LOCA_STAR: '' }),
  ]);
  expect(agsRows(text, 'HORN')[0]).toEqual({
    ...{ LOCA_ID: `${drive}/PH1`, HORN_TOP: '0.000', HORN_BASE: '30.000', HORN_ORNT: '', HORN_INCL: '' },
    HORN_REM:
      'look-out angle 5.00 deg from the axis of the drive, ahead; collar at 90.00 deg clockwise from the crown seen in the direction of the drive',
  });
  expect(agsRows(text, 'GEOL')).toEqual([
    {
      ...{
        LOCA_ID: drive,
        GEOL_TOP: '0.000',
        GEOL_BASE: '12.345',
        GEOL_DESC: 'Gneiss, grau',
        GEOL_GEOL: 'A',
      },
      GEOL_REM: '',
    },
  ]);
  expect(agsRows(text, 'WSTG')).toEqual([
    {
      ...{ LOCA_ID: `${drive}/PH1`, WSTG_DPTH: '12.500', WSTG_DTIM: '2026-03-01T20:15' },
      WSTG_REM: 'inflow 4.00 l/min',
    },
  ]);
  // two encounters at one place are one row: the place is the key
  expect(agsRows(text, 'DREM')).toEqual([
    {
      ...{ LOCA_ID: drive, DREM_TOP: '21.000', DREM_BASE: '23.000' },
      DREM_REM:
        'E1: water bearing, met by boring; seen by M.; E2: fractured, met by mapping; seen by M.; wedge',
    },
  ]);
  // 3 mm apart, and still two places; spacings 200 and 400 mm, mean 300
  expect(agsRows(text, 'FRAC')).toEqual([
    expect.objectContaining({
      ...{
        FRAC_FROM: '1.001',
        FRAC_TO: '1.004',
        FRAC_SET: 'J1',
        FRAC_IMAX: '400',
        FRAC_IAVE: '300',
        FRAC_IMIN: '200',
      },
    }),
  ]);
  expect(
    agsRows(text, 'DISC').map((row) => [row.DISC_NUMB, row.DISC_TOP, row.DISC_TYPE, row.FRAC_SET]),
  ).toEqual([
    ['D1', '1.001', 'Joint', 'J1'],
    ['D2', '1.004', 'Joint', 'J1'],
    ['D3', '30.000', 'Shear zone', ''],
  ]);
  expect(agsRows(text, 'DISC')[0]).toMatchObject({
    ...{
      DISC_DIP: '60',
      DISC_DIR: '135.5',
      DISC_RGH: 'slightly rough',
      DISC_APT: '0.5',
      DISC_INFM: 'soft clay',
    },
    ...{
      DISC_PERS: '2.500',
      DISC_WETH: 'slight',
      DISC_SEEP: 'wet',
      DISC_REM: 'spacing 0.2 m; mapped by Zoe',
    },
  });
  expect(agsRows(text, 'ABBR')).toContainEqual({
    ...{ ABBR_HDNG: 'GEOL_GEOL', ABBR_CODE: 'A', ABBR_DESC: 'Good rock' },
  });
});

it('contains the logs of probe holes by depth', async () => {
  await put('/probe-holes/PH3', {
    ...{ collar: '1+210', lookOutDeg: '5', lengthM: '12', method: 'cored', state: 'flooded' },
    log: [
      {
        ...{
          fromM: '0',
          toM: '4.5',
          penetrationRateMPerMin: '0.75',
          flushingColour: 'grey',
          flushingLossPercent: '20',
        },
        rock: 'Gneiss',
      },
      {
        fromM: '4.5',
        toM: '5',
        isVoid: true,
        waterInflowLPerMin: '30',
        waterPressureBar: '2.5',
        remark: 'rods dropped',
      },
    ],
  });
  const text = await file();
  expect(agsFaults(text)).toEqual([]);
  const hole = { LOCA_ID: `${drive}/PH3` };
  expect(agsRows(text, 'LOCA')[1]).toMatchObject({ ...hole, LOCA_TYPE: 'RC', LOCA_TERM: 'flooded' });
  expect(agsRows(text, 'GEOL')).toMatchObject([
    { ...hole, GEOL_TOP: '0.000', GEOL_BASE: '4.500', GEOL_DESC: 'Gneiss' },
  ]);
  // 0.75 m/min is 45 m/h
  expect(agsRows(text, 'DOBS')).toEqual([
    { ...hole, DOBS_TOP: '0.000', DOBS_BASE: '4.500', DOBS_SET: 'A', DOBS_PENR: '45.00' },
  ]);
  // 20 % lost, 80 % returned
  expect(agsRows(text, 'FLSH')).toEqual([
    {
      ...hole,
      FLSH_TOP: '0.000',
      FLSH_BASE: '4.500',
      FLSH_RETN: '80.00',
      FLSH_RETX: '80.00',
      FLSH_COL: 'grey',
    },
  ]);
  expect(agsRows(text, 'DREM')).toEqual([
    {
      ...{ ...hole, DREM_TOP: '4.500', DREM_BASE: '5.000' },
      DREM_REM: 'void; water 30.00 l/min; 2.50 bar; rods dropped',
    },
  ]);
});

it('has only groups with rows, and the given details of its transmission', async () => {
  const answer = await app.http.get(`${url}/ags?issue=2&status=Final&recipient=Office%20%C3%84`);
  expect(answer.headers).toMatchObject({
    ...{ 'content-type': 'text/plain; charset=us-ascii' },
    'content-disposition': `attachment; filename="${drive}.ags"`,
  });
  expect(agsFaults(answer.text)).toEqual([]);
  expect([...answer.text.matchAll(/"GROUP","(\w+)"/g)].map(([, name]) => name)).toEqual([
    ...['PROJ', 'TRAN', 'ABBR', 'TYPE', 'UNIT', 'LOCA'],
  ]);
  expect(agsRows(answer.text, 'TRAN')).toEqual([
    expect.objectContaining({
      ...{
        TRAN_ISNO: '2',
        TRAN_STAT: 'Final',
        TRAN_RECV: 'Office A',
        TRAN_AGS: '4.1.1',
        TRAN_PROD: 'Not stated',
      },
    }),
  ]);
  expect((await app.http.get(`${url}/ags?issue=${'x'.repeat(41)}`)).body.errors[0].pointer).toBe('/issue');
});

it('shows the moment requested, and works on a drive against the chainage', async () => {
  await toDrive(`${drive}-down`, { startChainage: '2+200', endChainage: '1+200', direction: -1 });
  const before = new Date().toISOString();
  await put('/probe-holes/PH1', { collar: '2+190', lookOutDeg: '5', lengthM: '30' });
  await put('/encounters/E1', {
    ...{
      kind: 'void',
      from: '2+180',
      to: '2+170',
      source: 'boring',
      metAt: '2026-03-02T00:00:00Z',
      metBy: 'M.',
    },
  });
  const now = await file();
  expect(agsFaults(now)).toEqual([]);
  expect(agsRows(now, 'DREM')).toMatchObject([{ DREM_TOP: '20.000', DREM_BASE: '30.000' }]);
  expect(agsRows(now, 'LOCA').map((row) => row.LOCA_CNGE)).toEqual(['2+200.000', '2+190.000']);
  const then = await file(`?asOf=${before}`);
  expect(agsFaults(then)).toEqual([]);
  expect(agsRows(then, 'LOCA')).toHaveLength(1);
});

it('is written by the command, only to a new file', async () => {
  await record();
  const { DATABASE_URL } = process.env;
  const target = path.join(await mkdtemp(path.join(tmpdir(), 'ags-')), 'drive.ags');
  try {
    process.env.DATABASE_URL = app.url;
    const args = ['ags', target, '--project', 'P1', '--drive', drive];
    expect(await captured(...args)).toMatchObject({ status: 0, out: expect.stringContaining('AGS 4.1.1') });
    expect(await readFile(target, 'ascii')).toBe(await file());
    expect(await captured(...args)).toMatchObject({
      status: 1,
      err: `${target} exists already: name a new one.\n`,
    });
    args[1] = `${target}.2`;
    const { out } = await captured(...args, '--json');
    const bytes = (await file()).length;
    expect(JSON.parse(out)).toEqual({ file: args[1], drive, bytes });
  } finally {
    if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
    else process.env.DATABASE_URL = DATABASE_URL;
  }
});

describe('the checker finds a planted error', () => {
  let sound: string;

  beforeEach(async () => {
    await record();
    sound = await file();
  });

  const NO_SUCH = '"DATA","NOWHERE","0.000","1.000","Gneiss","A",""\r\n';

  it('of each rule', () => {
    const geol = /"DATA","[^"]+","0\.000","12\.345"[^\r]*\r\n/.exec(sound)?.[0] ?? '';
    const planted: [rule: string, text: string][] = [
      ['1', sound.replace('Gneiss', 'Gneiß')],
      ['2', sound.replace(geol, '')],
      ['2a', sound.replace('\r\n', '\n')],
      ['2b', sound.replace(/"UNIT","","m".*\r\n/, '')],
      ['3', sound.replace(geol, geol.replace('DATA', 'DATUM'))],
      ['4', sound.replace('"GROUP","GEOL"', '"GROUP","GEOL","x"')],
      ['4', sound.replace(geol, geol.replace(',""', ''))],
      ['5', sound.replace('"Gneiss, grau"', 'Gneiss')],
      ['5', sound.replace('""offen""', '"offen"')],
      ['6', sound.replace('"GROUP","GEOL"', '"GROUP";"GEOL"')],
      ['7', sound.replace('"GEOL_DESC","GEOL_GEOL"', '"GEOL_GEOL","GEOL_DESC"')],
      ['7', sound.replace('"GEOL_DESC","GEOL_GEOL"', '"GEOL_DESC","GEOL_DESC"')],
      ['8', sound.replace('"12.345"', '"12.34"')],
      ['8', sound.replace('"2026-03-01T20:15"', '"01.03.2026"')],
      ['9', sound.replace('"GEOL_DESC"', '"GEOL_ROCK"')],
      ['9', sound.replace('"GROUP","GEOL"', '"GROUP","ROCK"')],
      ['10a', sound.replace(geol, geol + geol)],
      ['10b', sound.replace('"4.1.1"', '""')],
      ['10c', sound.replace(geol, geol + NO_SUCH)],
      ['13', sound.replace('"GROUP","PROJ"', '"GROUP","DICT"')],
      ['14', sound.replace(/"GROUP","TRAN"[^]*?\r\n\r\n/, '')],
      ['15', sound.replace('"DATA","m","metre"', '"DATA","km","metre"')],
      ['16', sound.replace('"DATA","GEOL_GEOL","A"', '"DATA","GEOL_GEOL","B"')],
      ['17', sound.replace('"DATA","3DP"', '"DATA","4DP"')],
      ['19', sound.replace('"GROUP","GEOL"', '"GROUP","Geo"')],
      ['19a', sound.replace('"GEOL_DESC"', '"GEOL-DESC"')],
    ];
    for (const [rule, text] of planted) {
      expect(text).not.toBe(sound);
      const found = agsFaults(text).map((fault) => fault.split(':')[0]);
      expect({ rule, found }).toEqual({ rule, found: expect.arrayContaining([rule === '6' ? '5' : rule]) });
    }
  });
});
