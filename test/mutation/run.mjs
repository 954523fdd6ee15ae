import { fork } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { filesIn, root } from './files.mjs';
import { mutantsOf } from './mutants.mjs';

// Mutation testing of src/engineering by test/engineering: `npm run test:mutation [-- part of a file's name …]`.
// Each place of a function is changed, one at a time; a mutant on which no test fails has survived, and is printed.

const wanted = process.argv.slice(2);
const sources = filesIn('src/engineering', '.ts').filter(
  (file) => wanted.length === 0 || wanted.some((part) => file.includes(part)),
);
const tests = filesIn('test/engineering', '.test.ts');

/** The files that a file imports, directly or indirectly. */
const imported = (file, known = new Set()) => {
  if (known.has(file)) return known;
  known.add(file);
  for (const [, name] of readFileSync(file, 'utf8').matchAll(/from '(\.[^']+)\.js'/g))
    imported(`${path.resolve(path.dirname(file), name)}.ts`, known);
  return known;
};
const reached = new Map(tests.map((test) => [test, imported(test)]));

/** The tests of a source, beginning with that of the same name, which mostly fails first. */
const testsOf = (source) => {
  const own = (test) => path.basename(test).startsWith(path.basename(source, '.ts'));
  const all = tests.filter((test) => reached.get(test).has(source));
  return [...all.filter(own), ...all.filter((test) => !own(test))];
};

const mutants = sources.flatMap(mutantsOf);

/** Number of mutants loaded by a process, which keeps the code of all. */
const MOST = 150;

/** An endless mutant is killed: CPU time allowed in addition to that of all tests; on systems other than Linux, elapsed time. [s] */
const MORE_S = 4;

const cpuOf = ({ pid }) => {
  try {
    const [user, system] = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1].split(' ').slice(11, 13);
    return (Number(user) + Number(system)) / 100;
  } catch {
    return performance.now() / 1000;
  }
};

let child;
let loaded = 0;
/** Receives the answer of the process. */
let answer;

const start = async () => {
  const made = fork(path.join(import.meta.dirname, 'child.mjs'), { cwd: root });
  made.send({ mutants });
  await once(made, 'message');
  made.on('message', ({ failure }) => answer(failure));
  made.on('exit', () => made === child && answer('the process ended'));
  loaded = 0;
  child = made;
};

const end = () => {
  child?.kill('SIGKILL');
  child = undefined;
};

/** @returns the failure; null: none */
const tried = async (mutant, files) => {
  if (loaded >= MOST) end();
  if (!child) await start();
  loaded += 1;
  const used = cpuOf(child);
  const failure = await new Promise((resolve) => {
    const timer = setInterval(() => cpuOf(child) - used > longestS && answer('no end'), 500);
    answer = (found) => {
      clearInterval(timer);
      resolve(found);
    };
    child.send({ mutant, files });
  });
  if (failure === 'no end' || failure === 'the process ended') end();
  return failure;
};

let longestS = Infinity;
const began = performance.now();
const unchanged = await tried(-1, tests);
longestS = cpuOf(child) + MORE_S;
process.stderr.write(
  `${mutants.length} mutants; the tests take ${((performance.now() - began) / 1000).toFixed(1)} s\n`,
);
if (unchanged !== null) {
  process.stderr.write(`Without any mutant: ${unchanged}\n`);
  process.exit(1);
}

const score = new Map();
for (const [number, { file, line, column, was, text }] of mutants.entries()) {
  const name = path.relative(root, file);
  const of = score.get(name) ?? { killed: 0, all: 0, untested: false };
  score.set(name, of);
  const files = testsOf(file);
  of.all += 1;
  of.untested = files.length === 0;
  if (files.length > 0 && (await tried(number, files)) !== null) of.killed += 1;
  else if (files.length > 0)
    process.stdout.write(`${name}:${line}:${column}  ${was.replaceAll(/\s+/g, ' ')} → ${text}\n`);
}
end();

const percent = ({ killed, all }) => `${((100 * killed) / all).toFixed(1)} %`;
const total = { killed: 0, all: 0 };
for (const [name, of] of score) {
  process.stdout.write(
    of.untested
      ? `${name}: ${of.all} mutants, tried by no test in test/engineering\n`
      : `${name}: ${of.killed} of ${of.all}, ${percent(of)}\n`,
  );
  if (of.untested) continue;
  total.killed += of.killed;
  total.all += of.all;
}
process.stdout.write(`killed ${total.killed} of ${total.all}: ${percent(total)}\n`);
