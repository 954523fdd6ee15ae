import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parse } from 'csv-parse/sync';
import pg from 'pg';
import { ZipIn } from '../../../src/common/files/zip-in.js';
import { readText } from '../../../src/common/files/csv.js';
import { ENTITY_SETS } from '../../../src/features/outputs/odata/entity-sets.js';
import { LEFT_OUT } from '../../../src/features/outputs/handover/record-copy.js';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { ducked } from '../../harness/duck.js';
import { faultsOfPdfA } from '../../harness/pdf-a.js';
import { entered, filesOf, packaged, twoProjects, verified } from './packaged.js';

// A package is compared with its record, read by SQL as the owner; its script is run by Node in an empty environment.

let folder: string;
let source: TestDatabase;
let owner: pg.Client;
let whole: string;

const place = (name: string): string => path.join(folder, name);
const attachmentsDir = (): string => place('attachments');
const sha256 = (content: string | Buffer): string => createHash('sha256').update(content).digest('hex');

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'handover-'));
  source = await freshDatabase();
  await twoProjects(source, attachmentsDir());
  owner = new pg.Client({ connectionString: source.url });
  await owner.connect();
  whole = place('whole');
  await packaged(source, { target: whole, attachmentsDir: attachmentsDir() });
});

afterAll(async () => {
  await owner.end();
  await source.drop();
  rmSync(folder, { recursive: true });
});

it('contains every fact and dimension, every shift with its versions, papers, attachments, calculations and history; its script finds it sound', async () => {
  const { status, out, faults } = verified(whole);
  expect([faults, status]).toEqual([[], 0]);
  const files = filesOf(whole);
  for (const name of Object.keys(ENTITY_SETS)) {
    const [row] = (
      await owner.query<{ count: number }>(
        `select count(*)::int from (select set_config('drivebook.project', '1', false)) s, report.${name} t where ${
          name === 'dim_date' ? 'true' : 'project_id = 1'
        }`,
      )
    ).rows;
    const rows = parse(files.get(`facts/${name}.csv`) ?? '', { columns: true, record_delimiter: '\r\n' });
    if (name !== 'dim_date') expect([name, rows.length]).toEqual([name, row?.count]);
    expect(
      await ducked(`select count(*)::int as count from '${path.join(whole, 'facts', name)}.parquet'`),
    ).toEqual([{ count: rows.length }]);
    expect(files.get('facts/dictionary.md')?.toString()).toContain(`## ${name}\n`);
  }
  const [boring] = parse(files.get('facts/fact_boring.csv') ?? '', { columns: true }) as Record<
    string,
    string
  >[];
  expect(boring).toMatchObject({
    from_m: '0.000',
    to_m: '10.000',
    advance_m: '10.000',
    production_day: '2027-03-01',
  });
  const exact = `select sum(advance_m)::text as advance, max(to_chainage_m)::text as chainage from '${path.join(whole, 'facts/fact_boring')}`;
  // 10 m bored in the shift and 10 m imported without times
  expect(await ducked(`${exact}.parquet'`)).toEqual([{ advance: '20', chainage: '1030' }]);
  const texts = parse(files.get('facts/dim_ground_class.csv') ?? '', {
    columns: true,
    record_delimiter: '\r\n',
  }) as Record<string, string>[];
  expect(texts[0]?.['description']).toBe('tab\t, line\n, "quoted", back\\slash and größer');
  const [belt] = parse(files.get('facts/dim_equipment.csv') ?? '', { columns: true }) as Record<
    string,
    string
  >[];
  expect([belt?.['description'], readText(belt?.['description'] ?? '')]).toEqual(["'=1+1", '=1+1']);
  const shift = JSON.parse(files.get('shifts/N/2027-03-01-day.json')?.toString() ?? '') as {
    document: { strokes: unknown[] };
    versions: { change: number; madeBy: string; document: object }[];
  };
  expect(shift.document.strokes).toHaveLength(1);
  expect(shift.versions.map(({ change }) => change)).toEqual([1]);
  expect(shift.versions[0]?.document).toEqual(shift.document);
  const papers = [...files.keys()].filter((name) => name.startsWith('papers/'));
  expect(papers).toEqual([
    'papers/N/as-built-1+000.000-to-1+030.000.pdf',
    'papers/N/daily-reports-2027-03.pdf',
    'papers/N/valuation-1.pdf',
    'papers/N/valuation-2.pdf',
  ]);
  for (const name of papers) expect(faultsOfPdfA(files.get(name))).toEqual([]);
  const photo = sha256('photo of ALPHA');
  expect(files.get(`attachments/${photo}.jpg`)?.toString()).toBe('photo of ALPHA');
  expect(files.get('attachments/index.csv')?.toString()).toContain(
    `"${photo}","${photo}.jpg","N",1,"face of ALPHA.jpg"`,
  );
  expect(files.get('docs/calculations.md')?.equals(readFileSync('docs/calculations.md'))).toBe(true);
  const [head] = (
    await owner.query<{ number: string; hash: string }>(
      `select number::text, encode(hash, 'hex') as hash from history.change where project_id = 1 order by history.change.number desc limit 1`,
    )
  ).rows;
  expect(out).toContain(`${head?.number} entries of the history in one chain, head ${head?.hash}.`);
  expect(out).toContain('Content withheld, and not computed anew, of entries 1.'); // the key was created with everything else
});

it('contains nothing of another project, no hash of a key, no secret of a webhook, no stored answer', () => {
  const secrets = {
    'the hash of a key': sha256('ALPHA'),
    'the salt of a secret': sha256('salt of ALPHA'),
    'the fingerprint of a secret': 'print of ALPHA',
    'a kept answer': 'request of ALPHA',
    'another project': 'of BETA',
  };
  for (const [name, content] of filesOf(whole))
    for (const [what, secret] of Object.entries(secrets)) {
      const isHidden =
        !content.includes(secret) && !(secret.length === 64 && content.includes(Buffer.from(secret, 'hex')));
      expect([name, what, isHidden]).toEqual([name, what, true]);
    }
  // the key is named, as in its history
  expect(filesOf(whole).get('record/tables/public.api_key.copy')?.toString()).toContain('loader-ALPHA');
});

it('contains or names every table of the record', async () => {
  const { rows } = await owner.query<{ name: string }>(
    `select c.relname as name from pg_class c where c.relnamespace = 'public'::regnamespace and c.relkind in ('r', 'p')
      and not c.relispartition and c.relname <> '_prisma_migrations' order by 1`,
  );
  const head = JSON.parse(readFileSync(path.join(whole, 'record/record.json'), 'utf8')) as {
    tables: { schema: string; name: string }[];
  };
  const carried = new Set(head.tables.filter(({ schema }) => schema === 'public').map(({ name }) => name));
  const absent = rows
    .map(({ name }) => name)
    .filter((name) => !carried.has(name) && name !== 'machine_sample');
  expect(absent).toEqual(Object.keys(LEFT_OUT).sort());
  expect(carried.has('machine_sample_2027_03')).toBe(true);
  const readme = readFileSync(path.join(whole, 'README.txt'), 'utf8');
  for (const what of Object.values(LEFT_OUT)) expect(readme).toContain(`- ${what}`);
});

it('its script ends quietly, with its exit status, when the reader of its output has gone', async () => {
  const script = spawn(process.execPath, [path.join(whole, 'verify.mjs')], { env: {} });
  script.stdout.destroy();
  let told = '';
  script.stderr.on('data', (piece: Buffer) => (told += piece.toString()));
  const [status] = (await once(script, 'close')) as [number];
  expect([status, told]).toEqual([0, '']);
});

describe('the script of a package finds', () => {
  const changed = (name: string, change: (copy: string) => void): string[] => {
    const copy = place(`copy-of-${name}`);
    cpSync(whole, copy, { recursive: true });
    try {
      change(copy);
      const { status, faults } = verified(copy);
      expect(status).toBe(faults.length > 0 ? 1 : 0);
      return faults;
    } finally {
      rmSync(copy, { recursive: true });
    }
  };

  const without = (copy: string, name: string, line: number): void => {
    const file = path.join(copy, name);
    const lines = readFileSync(file, 'utf8').split('\n');
    lines.splice(line, 1);
    writeFileSync(file, lines.join('\n'));
  };

  it('a byte that was changed in a file of each kind', () => {
    const kinds = new Map<string, string>();
    for (const name of filesOf(whole).keys()) kinds.set(`${name.split('/')[0]} ${path.extname(name)}`, name);
    kinds.delete('manifest.json .json'); // the digest recorded elsewhere shows it, and so does SHA256SUMS
    kinds.delete('SHA256SUMS ');
    expect(kinds.size).toBeGreaterThan(10);
    const faults = changed('bytes', (copy) => {
      for (const name of kinds.values()) {
        if (name === 'verify.mjs') continue; // it is the script that runs
        const content = readFileSync(path.join(copy, name));
        content[Math.floor(content.length / 2)]! ^= 1;
        writeFileSync(path.join(copy, name), content);
      }
    });
    for (const name of kinds.values())
      if (name !== 'verify.mjs')
        expect(faults).toContain(`${name} is not as it was written: its digest differs`);
    const manifest = changed('manifest', (copy) => {
      const text = readFileSync(path.join(copy, 'manifest.json'), 'utf8');
      writeFileSync(path.join(copy, 'manifest.json'), text.replace('"madeAt": "2', '"madeAt": "3'));
    });
    expect(manifest).toEqual(['SHA256SUMS does not say what the manifest says']);
  });

  it('a row, a document or a file that is missing, or one too many, even with a manifest made to fit', () => {
    const table = 'facts/fact_activity_part.csv';
    const rows = changed('rows', (copy) => {
      without(copy, table, 2);
      entered(copy, table);
    });
    expect(rows).toEqual([`${table} has 2 rows, and the manifest says 3`]);
    const copied = 'record/tables/public.activity.copy';
    expect(
      changed('copied', (copy) => {
        without(copy, copied, 0);
        entered(copy, copied);
      }),
    ).toEqual([`${copied} has 2 rows, and the manifest says 3`]);
    const shift = 'shifts/N/2027-03-01-day.json';
    expect(changed('gone', (copy) => rmSync(path.join(copy, shift)))).toEqual([`${shift} is missing`]);
    expect(changed('more', (copy) => writeFileSync(path.join(copy, 'shifts/N/more.json'), '{}'))).toEqual([
      'shifts/N/more.json is in no manifest',
    ]);
    const photo = `attachments/${sha256('photo of ALPHA')}.jpg`;
    expect(
      changed('photo', (copy) => {
        writeFileSync(path.join(copy, photo), 'another photo');
        entered(copy, photo);
      }),
    ).toEqual([`${photo} is not the attachment of its name`]);
  });

  it.each(['manifest.json', 'audit/chain.ndjson'])('a %s that is no JSON, by its name', (name) => {
    const found = changed('json', (copy) => {
      writeFileSync(path.join(copy, name), '{"files": ');
      if (name !== 'manifest.json') entered(copy, name);
    });
    expect(found.join('\n')).toMatch(
      new RegExp(`^it cannot be read: (a line of )?${name} is not JSON$`, 'm'),
    );
  });

  it('an entry of the history that was removed, changed, or had its rows changed', () => {
    const [chain, rows] = ['audit/chain.ndjson', 'audit/rows.ndjson'];
    const line = (copy: string, name: string): string[] =>
      readFileSync(path.join(copy, name), 'utf8').split('\n');
    const count = line(whole, chain).length - 1;
    expect(count).toBeGreaterThan(1);
    expect(
      changed('last', (copy) => {
        without(copy, chain, count - 1);
        entered(copy, chain, count - 1);
      })[0],
    ).toMatch(/^entry \d+ of the history has rows and is not in the chain$/);
    expect(
      changed('first', (copy) => {
        without(copy, chain, 0);
        entered(copy, chain, count - 1);
      }),
    ).toEqual(['entry 1 of the history is missing']);
    expect(
      changed('actor', (copy) => {
        writeFileSync(
          path.join(copy, chain),
          line(copy, chain).join('\n').replace('\\"actor\\": \\"', '\\"actor\\": \\"x'),
        );
        entered(copy, chain);
      })[0],
    ).toMatch(/^entry 1 of the history is not what it sealed/);
    expect(
      changed('rows-of-it', (copy) => {
        writeFileSync(path.join(copy, rows), line(copy, rows).join('\n').replace('größer', 'kleiner'));
        entered(copy, rows);
      }),
    ).toEqual(['entry 2 of the history: the rows that it added or removed are not those it sealed']);
  });
});

it('a .zip holds the same files as a folder, and is read by the same reader; one that was cut is refused', async () => {
  const file = place('whole.zip');
  await packaged(source, { target: file, attachmentsDir: attachmentsDir() });
  const zip = await ZipIn.open(file);
  const files = filesOf(whole);
  expect([...zip.names].sort()).toEqual([...files.keys()].sort());
  const differs = (name: string): boolean =>
    /^(manifest\.json|SHA256SUMS|README\.txt|record\/record\.json)$/.test(name);
  for (const name of zip.names) {
    const pieces: Buffer[] = [];
    for await (const piece of zip.read(name)) pieces.push(piece);
    // some contain the moment
    expect([name, differs(name) || Buffer.concat(pieces).equals(files.get(name)!)]).toEqual([name, true]);
  }
  await zip.close();
  const bytes = readFileSync(file);
  const cut = place('cut.zip');
  writeFileSync(cut, bytes.subarray(0, bytes.length - 40));
  await expect(ZipIn.open(cut)).rejects.toThrow(
    `${cut} is damaged or cut off: its list of contents is missing.`,
  );
  expect(readdirSync(folder).filter((name) => name.includes('partial'))).toEqual([]);
});

it('is one snapshot of the record, whatever is written meanwhile', async () => {
  const target = place('busy');
  const expected = filesOf(whole);
  let written = Promise.resolve<unknown>(undefined);
  await packaged(source, {
    target,
    attachmentsDir: attachmentsDir(),
    progress: (_, step) => {
      if (step === 'attachments')
        written = written.then(() =>
          owner.query(`update equipment set description = description || ' later' where id = 100`),
        );
    },
  });
  await written;
  expect(verified(target).faults).toEqual([]);
  const files = filesOf(target);
  for (const name of [
    'facts/dim_equipment.csv',
    'audit/chain.ndjson',
    'record/tables/history.equipment.copy',
  ])
    expect([name, files.get(name)?.toString()]).toEqual([name, expected.get(name)?.toString()]);
  await owner.query(`update equipment set description = '=1+1' where id = 100`);
});

describe('nothing that looks like a package is left', () => {
  const left = (name: string): string[] => readdirSync(folder).filter((each) => each.startsWith(name));

  it.each(['stopped', 'stopped.zip'])('of %s when it is interrupted', async (name) => {
    const stop = new AbortController();
    await expect(
      packaged(source, {
        target: place(name),
        attachmentsDir: attachmentsDir(),
        signal: stop.signal,
        progress: (_, step) =>
          step === 'papers' && stop.abort(new Error('Interrupted: nothing was written.')),
      }),
    ).rejects.toThrow('Interrupted');
    expect(left('stopped')).toEqual([]);
  });

  it('when the file of an attachment is missing or another', async () => {
    const target = place('lacking');
    await expect(packaged(source, { target, attachmentsDir: place('none') })).rejects.toThrow(
      /^The file of attachment [0-9a-f]{64} is missing: see "drivebook attachments verify"\.$/,
    );
    await expect(packaged(source, { target })).rejects.toThrow('ATTACHMENTS_DIR is not set');
    expect(left('lacking')).toEqual([]);
  });

  it('nor over a file that exists, of an unknown drive, or of a history that is not sound', async () => {
    await expect(packaged(source, { target: whole, attachmentsDir: attachmentsDir() })).rejects.toThrow(
      `${whole} exists already: name a new one.`,
    );
    await expect(packaged(source, { target: place('left'), drive: 'X' })).rejects.toThrow(
      'drive X in project ALPHA',
    );
    await owner.query(`update history.shift set crew_lead = 'another' where id = 100`);
    await expect(
      packaged(source, { target: place('left'), attachmentsDir: attachmentsDir() }),
    ).rejects.toThrow(/^The history of project ALPHA is not sound: entry \d+: /);
    await owner.query(`update history.shift set crew_lead = null where id = 100`);
    expect(left('left')).toEqual([]);
  });
});

it('the command writes the package of a drive, without the tables of the service; it cannot be read into one', async () => {
  const before = { ...process.env };
  Object.assign(process.env, { DATABASE_URL: source.url, ATTACHMENTS_DIR: attachmentsDir() });
  const empty = await freshDatabase('template0');
  try {
    const target = place('drive');
    const { status, out, err } = await captured('handover', target, '--project', 'ALPHA', '--drive', 'N');
    expect([status, err]).toEqual([0, '']);
    expect(out).toMatch(
      /^.*drive: project ALPHA, drive N, as of .*, \d+ files, .* MB\.\nNote elsewhere: manifest [0-9a-f]{64}, head of the history \d+ [0-9a-f]{64}\.\n$/,
    );
    expect(verified(target).faults).toEqual([]);
    expect(existsSync(path.join(target, 'record'))).toBe(false);
    const unknown = await captured('handover', place('other'), '--project', 'NONE');
    expect([unknown.status, unknown.err]).toEqual([1, 'There is no project NONE.\n']);
    process.env['DATABASE_URL'] = empty.url;
    const restored = await captured('restore', target);
    expect([restored.status, restored.err]).toEqual([
      1,
      `${target} is the package of a drive: only the package of a project can be read into a service.\n`,
    ]);
  } finally {
    for (const name of ['DATABASE_URL', 'ATTACHMENTS_DIR'])
      if (before[name] === undefined) delete process.env[name];
      else process.env[name] = before[name];
    await empty.drop();
  }
});
