import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Command } from 'commander';
import { program } from '../../src/commands/run-command.js';
import { packageRoot } from '../../src/common/package-root.js';
import { captured } from '../harness/captured-command.js';
import { cli } from '../harness/command-process.js';

/** Every command and subcommand, by the words that call it. */
const calls = (command: Command, before: string[] = []): string[][] =>
  command.commands.flatMap((each) => {
    const words = [...before, each.name()];
    return [words, ...calls(each, words)];
  });

const PROGRAM = await program(() => undefined);
const ALL = calls(PROGRAM).map((words) => words.join(' '));

const commandOf = (name: string): Command =>
  name.split(' ').reduce((within, word) => within.commands.find((each) => each.name() === word)!, PROGRAM);

/** They run the service, or write files for developers: they answer nothing that a program would read. */
const WITHOUT_JSON = ['serve', 'demo', 'describe'];

const ANSWERING = ALL.filter((name) => commandOf(name).commands.length === 0 && !WITHOUT_JSON.includes(name));

describe('the command line', () => {
  let environment: NodeJS.ProcessEnv;

  beforeEach(() => {
    environment = { ...process.env };
    // an unreachable database: a command that uses it fails
    process.env['DATABASE_URL'] = 'postgresql://nobody@127.0.0.1:1/none';
  });

  afterEach(() => {
    process.env = environment;
  });

  it.each(ALL.flatMap((name) => [[name, '--help'] as const, [name, '-h'] as const]))(
    'of drivebook %s %s prints its usage and does nothing',
    async (name, flag) => {
      const { status, out, err } = await captured(...name.split(' '), flag);
      expect([status, err]).toEqual([0, '']);
      expect(out).toMatch(new RegExp(`^Usage: drivebook ${name}\\b`));
      expect(out).toContain('Exit status: 0 done');
    },
  );

  it.each(ALL)('of drivebook %s shows examples of it in its help', async (name) => {
    const { out } = await captured(...name.split(' '), '--help');
    expect(out).toMatch(new RegExp(`^Examples:\\n(  .*\\n)*  (\\S+=\\S+ )*drivebook ${name}(?![\\w-])`, 'm'));
  });

  it.each(ANSWERING)('of drivebook %s has --json', (name) => {
    expect(commandOf(name).options.map(({ long }) => long)).toContain('--json');
  });

  it.each([
    ['import strokes nofile --project P --drive D'],
    ['import strokes package.json --map nofile --project P --drive D'],
    ['import samples nofile --project P --drive D'],
    ['restore nofile'],
    ['audit verify --head nofile'],
    ['samples move nofolder --keep 24'],
    ['lake verify nofolder'],
    ['handover new.zip --project P --lake nofolder'],
  ])('drivebook %s names what does not exist, and touches no database', async (line) => {
    const [name] = /nofile|nofolder/.exec(line)!;
    expect(await captured(...line.split(' '))).toEqual({
      status: 1,
      out: '',
      err: `There is no ${name.slice(2)} ${name}.\n`,
    });
  });

  it.each([
    ['ags nofolder/a.ags --project P --drive D', '<file>'],
    ['backup nofolder/a.backup', '<file>'],
    ['handover nofolder/a.zip --project P', '<target>'],
    ['import strokes package.json --project P --drive D --report nofolder/a.csv', '--report'],
    ['report diagram advance nofolder/a.svg --project P --drive D', '<file>'],
    ['report day 2027-03-01 nofolder/a.pdf --project P --drive D', '<file>'],
    ['report month 2027-03 nofolder/a.pdf --project P --drive D', '<file>'],
    ['report as-built nofolder/a.pdf --project P --drive D --from 1+0 --to 1+1', '<file>'],
    ['samples archive 2027-03 nofolder/a.csv', '<file>'],
  ])('drivebook %s names the missing folder and %s, and touches no database', async (line, named) => {
    expect(await captured(...line.split(' '))).toEqual({
      status: 1,
      out: '',
      err: `There is no folder nofolder, in which ${named} would be written: create it, or name another.\n`,
    });
    const inFile = await captured(...line.replace('nofolder', 'package.json/nofolder').split(' '));
    expect([inFile.status, inFile.err]).toEqual([
      1,
      expect.stringMatching(/^There is no folder package\.json\/nofolder, /),
    ]);
  });

  // the file to be read is one that exists: named as the report, it would be emptied before it is read
  it.each(['package.json', 'src'])(
    'an import writes no report over %s, and touches no database',
    async (name) => {
      const content = readFileSync('package.json');
      const line = `import strokes package.json --project P --drive D --report ${name}`;
      expect(await captured(...line.split(' '))).toEqual({
        status: 1,
        out: '',
        err: `${name} exists already: name a new one.\n`,
      });
      expect(readFileSync('package.json')).toEqual(content);
    },
  );

  it('of drivebook itself names each command', async () => {
    for (const args of [['--help'], ['-h'], ['help'], []]) {
      const { status, out } = await captured(...args);
      expect(status).toBe(0);
      for (const name of ALL.filter((each) => !each.includes(' '))) expect(out).toContain(`\n  ${name} `);
    }
  });

  it('gives the help of a command by drivebook help', async () => {
    expect(await captured('help', 'backup')).toEqual(await captured('backup', '--help'));
  });

  it('prints the version of the package', async () => {
    const { version } = JSON.parse(readFileSync(path.join(packageRoot, 'package.json'), 'utf8')) as {
      version: string;
    };
    expect(await captured('--version')).toMatchObject({ status: 0, out: `${version}\n` });
  });

  it.each(ALL)('refuses an option that drivebook %s does not have', async (name) => {
    const { status, err } = await captured(...name.split(' '), '--nonesuch');
    // missing required options are reported first
    expect([status, err]).toEqual([2, expect.stringMatching(/^error: (unknown|required) option '--/)]);
    expect(err).toContain('Add --help for the usage.');
  });

  it.each([['recompute'], ['serve'], ['describe'], ['demo'], ['views replace'], ['audit head']])(
    'drivebook %s refuses a surplus argument',
    async (name) => {
      const { status, err } = await captured(...name.split(' '), 'now');
      expect([status, err]).toEqual([2, expect.stringContaining('error: too many arguments')]);
    },
  );

  it.each([
    [['sevre'], "error: unknown command 'sevre'\n(Did you mean serve?)"],
    [['audit', 'vrify'], "error: unknown command 'vrify'"],
    [['serve', '--port', '65536'], 'It must be a whole number from 0 to 65535.'],
    [['serve', '--port', '0x50'], 'It must be a whole number from 0 to 65535.'],
    [['valuation', 'verify', '1'], "error: required option '--project <code>' not specified"],
    [['valuation', 'verify', '0', '--project', 'P', '--drive', 'D'], 'It must be a whole number from 1'],
    [['samples', 'detach', '2027-13'], 'It must be a month such as 2027-03.'],
    [['backup'], "error: missing required argument 'file'"],
  ])('%j is not understood', async (args, message) => {
    const { status, out, err } = await captured(...args);
    expect([status, out]).toEqual([2, '']);
    expect(err).toContain(message);
  });
});

it('a command whose reader has stopped reading, as `head` does, ends without an error', async () => {
  const child = spawn(process.execPath, [cli(), '--help'], { stdio: ['ignore', 'pipe', 'pipe'] });
  child.stdout.destroy();
  let err = '';
  child.stderr.on('data', (bytes) => (err += String(bytes)));
  const [status] = (await once(child, 'close')) as [number | null];
  expect([status, err]).toEqual([0, '']);
});

it('a command that writes names a folder that it may not write to, before it does anything', async () => {
  const folder = mkdtempSync(path.join(tmpdir(), 'closed-'));
  chmodSync(folder, 0o555);
  const user = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {}; // the superuser may write everywhere
  const child = spawn(process.execPath, [cli(), ...`ags ${folder}/a.ags --project P --drive D`.split(' ')], {
    ...user,
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let err = '';
  child.stderr.on('data', (bytes) => (err += String(bytes)));
  const [status] = (await once(child, 'close')) as [number | null];
  rmSync(folder, { recursive: true });
  expect([status, err]).toEqual([1, `This account may not write to the folder ${folder}: name another.\n`]);
});
