import { fork } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import pg from 'pg';
import '../../prisma/tools/typescript.mjs';
import start from '../harness/start-run.mjs';
import stop from '../harness/stop-run.mjs';
import { filesIn, root } from './files.mjs';
import { sqlMutantsOf } from './sql-mutants.mjs';

const { BINDINGS } = await import('../../src/common/database/views.ts');

// Mutation testing of rounding, comparisons and bounds in prisma/views: `npm run test:mutation:views [-- part of a file's name …]`.
// One place of a view at a time is changed in the databases of a run, and the tests closest to it run until one fails.

const { values: options, positionals: wanted } = parseArgs({
  allowPositionals: true,
  options: {
    sample: { type: 'string' }, // number of mutants per area, drawn by the seed; default: all
    seed: { type: 'string', default: '1' },
    kind: { type: 'string' }, // rounding, comparison or bound
    minutes: { type: 'string' }, // time limit; then it prints the score of the mutants tried
    tests: { type: 'string', default: '6' }, // most test files to try on a mutant
    at: { type: 'string', multiple: true }, // only these places, as they are printed: area/view.sql:line:column
    on: { type: 'string', multiple: true }, // parts of the names of the test files to try, instead of the closest ones
  },
});

const VIEWS = path.join(root, 'prisma/views');
const nameOf = (file) => path.relative(VIEWS, file).split(path.sep).join('/');
const areaOf = (file) => nameOf(file).split('/')[0];

// distance of tests from a view

const CREATED = /^create (?:or replace )?(?:view|function|aggregate) (\w+)/m;
const FUNCTION = /^create (?:or replace )?function (?:\w+\.)?(\w+).*?\$\$.*?\$\$/gims;
const objectOf = (file) => CREATED.exec(readFileSync(file, 'utf8'))[1];
const views = filesIn('prisma/views', '.sql').map((file) => ({
  file,
  object: objectOf(file),
  sql: readFileSync(file, 'utf8')
    .split(/^comment on /m)[0]
    .replaceAll(/--[^\n]*/g, ''),
}));
const words = new Map(views.map(({ object, sql }) => [object, new Set(sql.match(/\w+/g))]));
// database functions read views too; the last migration that defines a function counts
for (const file of filesIn('prisma/migrations', '.sql'))
  for (const [said, name] of readFileSync(file, 'utf8').matchAll(FUNCTION))
    if (!views.some(({ object }) => object === name)) words.set(name, new Set(said.match(/\w+/g)));

/** Distance in views from a view to each that reads it. */
const readersOf = (object) => {
  const far = new Map([[object, 0]]);
  for (const [near, distance] of far)
    for (const [other, said] of words) if (said.has(near) && !far.has(other)) far.set(other, distance + 1);
  return far;
};

const camel = (name) => name.replaceAll(/_(\w)/g, (_, letter) => letter.toUpperCase());
const AREAS = [
  'site',
  'driving',
  'ground',
  'ahead',
  'support',
  'payment',
  'outputs',
  'watch',
  'views',
  'database',
];
const LONGEST = readFileSync(path.join(root, 'test/harness/jest/longest.txt'), 'utf8')
  .split('\n')
  .filter(Boolean);
/** Area and feature of a file in a folder. */
const featureOf = (folder, file) =>
  path.relative(path.join(root, folder), path.dirname(file)).split(path.sep).slice(0, 2).join('/');
const BESIDE = /from '(\.\/[\w-]+)\.js'/g;
/** The text of a test, alone and with the files it imports from its own folder. */
const textOf = (file) => {
  const own = readFileSync(file, 'utf8');
  const beside = [...own.matchAll(BESIDE)].map(([, name]) => path.join(path.dirname(file), `${name}.ts`));
  return { own, text: [own, ...beside.map((other) => readFileSync(other, 'utf8'))].join('\n') };
};
const tests = AREAS.flatMap((area) => filesIn(`test/${area}`, '.test.ts'))
  .map((file) => ({ file, ...textOf(file), feature: featureOf('test', file) }))
  .filter(({ file, own }) =>
    options.on
      ? options.on.some((part) => file.includes(part))
      : !LONGEST.some((name) => file.endsWith(name)) &&
        !/serve\.mjs|command-process|fork\(/.test(own) &&
        (!/test.database/.test(file) || /one-home/.test(file)),
  );
const features = new Map();
for (const file of filesIn('src/features', '.ts')) {
  const feature = featureOf('src/features', file);
  const text = readFileSync(file, 'utf8').match(/\w+/g) ?? [];
  features.set(feature, new Set([...(features.get(feature) ?? []), ...text]));
}

const closest = new Map();
const testsOf = (object) => {
  if (options.on) return tests;
  if (!closest.has(object)) {
    const far = readersOf(object);
    const distance = ({ text, feature }) => {
      const said = new Set(text.match(/[\w-]+/g));
      let least = Infinity;
      for (const [name, steps] of far) {
        if ([name, camel(name), name.replaceAll('_', '-')].some((word) => said.has(word)))
          least = Math.min(least, steps);
        else if (features.get(feature)?.has(name)) least = Math.min(least, steps + 0.5);
      }
      return least;
    };
    closest.set(
      object,
      tests
        .map((test) => ({ test, far: distance(test) }))
        .filter((one) => one.far < Infinity)
        .sort((a, b) => a.far - b.far || a.test.own.length - b.test.own.length)
        .map(({ test }) => test),
    );
  }
  return closest.get(object);
};

// drawing

/** Random numbers from 0 to 1, repeatable by seed (mulberry32). */
const numbersOf = (seed) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
};
const draw = numbersOf(Number(options.seed));
const placeOf = ({ file, line, column }) => `${nameOf(file)}:${line}:${column}`;
const all = views
  .filter(({ file }) => wanted.length === 0 || wanted.some((part) => nameOf(file).includes(part)))
  .flatMap(({ file }) => sqlMutantsOf(file))
  .filter(({ kind }) => options.kind === undefined || kind === options.kind)
  .filter((mutant) => options.at === undefined || options.at.includes(placeOf(mutant)))
  .map((mutant) => ({ mutant, at: draw() }));
const sampled = [...new Set(all.map(({ mutant }) => areaOf(mutant.file)))].flatMap((area) =>
  all
    .filter(({ mutant }) => areaOf(mutant.file) === area)
    .sort((a, b) => a.at - b.at)
    .slice(0, Number(options.sample ?? Infinity))
    .map(({ mutant }) => mutant),
);
// in the order drawn, so that those tried are a sample of all whenever it ends
const drawn = new Map(all.map(({ mutant, at }) => [mutant, at]));
sampled.sort((a, b) => drawn.get(a) - drawn.get(b));

// the databases

await start();
const template = process.env.TEST_TEMPLATE_URL;
const urlOf = (name) => Object.assign(new URL(template), { pathname: name }).href;
const asked = async (url, body) => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return await body(client);
  } finally {
    await client.end();
  }
};

/** Installs the SQL of a file in every database of the run. @throws Error of PostgreSQL; the first database is then unchanged */
const put = async (name, sql) => {
  const { rows } = await asked(urlOf('postgres'), (client) =>
    client.query(
      `select datname from pg_database where datname like 'test\\_%' or datname = $1 order by datname like 'test\\_%'`,
      [new URL(template).pathname.slice(1)],
    ),
  );
  for (const { datname } of rows)
    await asked(urlOf(datname), async (client) => {
      await client.query('begin');
      for (const { schema, searchPath, has } of BINDINGS) {
        if (!has(name)) continue;
        await client.query(`set local search_path = ${searchPath}`);
        await client.query(sql);
        if (/create or replace view/.test(sql))
          await client.query(
            `alter view ${schema}.${path.basename(name, '.sql')} set (security_invoker = true)`,
          );
      }
      await client.query('commit');
    });
};

// trying

let child;
// a child whose database is gone may never end by itself
for (const signal of ['SIGINT', 'SIGTERM'])
  process.once(signal, () => {
    child?.kill('SIGKILL');
    process.exit(1);
  });
const begin = async () => {
  const made = fork(path.join(import.meta.dirname, 'views-child.mjs'), {
    cwd: root,
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
  });
  await once(made, 'message');
  return made;
};
const end = async () => {
  if (!child) return;
  const ended = once(child, 'exit');
  child.send({ end: true });
  setTimeout(() => child?.kill('SIGKILL'), 30_000).unref();
  await ended;
  child = undefined;
};

/** @returns the failure of a test file; null: none */
const failureOf = async (file, mostS) => {
  child ??= await begin();
  const { failure } = await new Promise((resolve) => {
    const timer = setTimeout(() => resolve({ failure: 'no end' }), mostS * 1000);
    const done = (answer) => {
      clearTimeout(timer);
      resolve(answer);
    };
    child.once('message', done);
    child.once('exit', () => done({ failure: 'the process ended' }));
    child.send({ file });
  });
  child.removeAllListeners('message');
  child.removeAllListeners('exit');
  if (failure === 'no end' || failure === 'the process ended') {
    child.kill('SIGKILL');
    child = undefined;
  }
  return failure;
};

/** Duration of a test file; null: it fails without any mutant, so it is useless. [s] */
const seconds = new Map();
const soundIn = async ({ file }) => {
  if (!seconds.has(file)) {
    const began = performance.now();
    const failure = await failureOf(file, 600);
    seconds.set(file, failure === null ? (performance.now() - began) / 1000 : null);
    if (failure !== null)
      process.stderr.write(`${path.relative(root, file)} fails without any mutant: ${failure}\n`);
  }
  return seconds.get(file);
};

const started = performance.now();
const score = new Map();
const count = (key, what) => {
  const of = score.get(key) ?? { killed: 0, lived: 0, untested: 0, invalid: 0 };
  of[what] += 1;
  score.set(key, of);
};

process.stderr.write(`${sampled.length} mutants of ${all.length}\n`);
for (const mutant of sampled) {
  const { file, start: from, end: to, text, was, kind } = mutant;
  if (performance.now() - started > Number(options.minutes ?? Infinity) * 60_000) break;
  const name = nameOf(file);
  const candidates = [];
  for (const test of testsOf(objectOf(file)))
    if (candidates.length < Number(options.tests) && (await soundIn(test)) !== null) candidates.push(test);
  const sql = readFileSync(file, 'utf8');
  const place = `${placeOf(mutant)}  ${was} → ${text}`;
  let outcome = candidates.length === 0 ? 'untested' : 'lived';
  let by = '';
  if (candidates.length > 0)
    try {
      await put(name, sql.slice(0, from) + text + sql.slice(to));
      for (const { file: test } of candidates) {
        const failure = await failureOf(test, 30 + 10 * seconds.get(test));
        if (failure === null) continue;
        [outcome, by] = ['killed', path.relative(root, test)];
        break;
      }
    } catch (error) {
      if (!(error instanceof pg.DatabaseError)) throw error;
      [outcome, by] = ['invalid', error.message];
    } finally {
      await put(name, sql);
    }
  for (const key of [areaOf(file), kind, 'all']) count(key, outcome);
  process.stdout.write(`${outcome.padEnd(8)} ${place}  ${by}\n`);
}
await end();
await stop();

for (const [key, { killed, lived, untested, invalid }] of score) {
  const tried = killed + lived;
  const percent = tried > 0 ? `, ${((100 * killed) / tried).toFixed(1)} %` : '';
  const rest = [
    untested && `${untested} reached by no test`,
    invalid && `${invalid} refused by PostgreSQL`,
  ].filter(Boolean);
  process.stdout.write(
    `${key}: killed ${killed} of ${tried}${percent}${rest.length > 0 ? ` (${rest.join(', ')})` : ''}\n`,
  );
}
