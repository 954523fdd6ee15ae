import { chmodSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { scenario } from '../../src/demo/scenario.js';
import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { postmasterPid } from '../harness/holder.js';
import { answerChecks } from './answer-checks.js';
import { runDemo, RunningDemo } from './run-demo.js';

const drive = scenario();

/** The answers between two headings, without the ports, which differ by run. */
const answersOf = (text: string, from: string, to: string): string =>
  text.slice(text.indexOf(from), text.indexOf(to)).replace(/127\.0\.0\.1:\d+/g, 'here');

const isGone = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return false;
  } catch {
    return true;
  }
};

describe('drivebook demo', () => {
  let dataDir: string;
  let stopped: RunningDemo;
  let serving: RunningDemo;
  let stdout: string;

  beforeAll(async () => {
    dataDir = mkdtempSync(path.join(os.tmpdir(), 'drivebook-demo-'));
    chmodSync(dataDir, 0o755); // for root, PostgreSQL runs as another user and needs access
    stopped = new RunningDemo([], { DATA_DIR: dataDir });
    await stopped.printed('Site ');
    stopped.process.kill('SIGTERM');
    await stopped.ended();
    serving = new RunningDemo([], { DATA_DIR: dataDir });
    await serving.printed('Ctrl-C stops it');
    stdout = serving.stdout;
  });

  afterAll(async () => {
    serving.process.kill('SIGKILL');
    await serving.ended();
    rmSync(dataDir, { recursive: true, force: true });
  });

  it('says that the drive is invented and that it supports decisions only', () => {
    expect(serving.stderr).toBe('');
    expect(stdout).toContain('The drive is invented');
    expect(stdout).toContain('about support and probing is decision support');
    expect(stdout).toContain(path.join(dataDir, 'demo'));
  });

  it('stops cleanly while it loads, and goes on from there at the next start', () => {
    expect(stopped.process.exitCode).toBe(0);
    expect(stopped.stderr).toBe('');
    expect(stopped.stdout).toMatch(/Stopped\.\n$/);
    expect(stopped.stdout).not.toContain('FACE POSITION');
    expect(stdout).toMatch(/^Site +28 unchanged$/m);
    expect(stdout).toMatch(/^Samples +\d+ taken$/m);
    const shifts = /^Shifts +(.*)$/m.exec(stdout)?.[1] ?? '';
    const count = (outcome: string): number => Number(new RegExp(`(\\d+) ${outcome}`).exec(shifts)?.[1] ?? 0);
    expect(count('created') + count('unchanged')).toBe(31);
    expect(count('replaced')).toBe(2);
  });

  answerChecks(() => stdout);

  it('stops cleanly, and at the next start finds everything unchanged and keeps what was written meanwhile', async () => {
    await completeLastShift(/^REST +(\S+)/m.exec(stdout)?.[1] ?? '');
    const folder = path.join(dataDir, 'demo');
    const pid = postmasterPid(folder);
    serving.process.kill('SIGTERM');
    expect(await serving.ended()).toMatchObject({ status: 0, stderr: '' });
    expect(serving.stdout).toMatch(/Stopped\.\n$/);
    expect(isGone(pid)).toBe(true);
    expect(existsSync(path.join(folder, 'postgresql', 'postmaster.pid'))).toBe(false);

    const again = await runDemo(['--once'], { DATA_DIR: dataDir });
    expect(again).toMatchObject({ status: 0, stderr: '' });
    expect(again.stdout).toMatch(
      /^Site +28 unchanged\nPeople +10 unchanged\nContract +22 unchanged\nRules +5 unchanged\nProbing +19 unchanged\n/m,
    );
    expect(again.stdout).toMatch(/^Shifts +30 unchanged, 1 kept\nSamples +\d+ there already$/m);
    expect(again.stdout).toMatch(/WHAT THE RECORD STILL MISSES\n.*\n\n {2}Nothing\.\n/);
    for (const [from, to] of [
      ['FACE POSITION', 'WHERE THE TIME WENT'],
      ['SUPPORT INSTALLED', 'WHAT THE RECORD'],
    ] as const)
      expect(answersOf(again.stdout, from, to)).toBe(answersOf(stdout, from, to));
  });

  /** Books the missing minutes and submits, as the office would. */
  const completeLastShift = async (projects: string): Promise<void> => {
    const last = drive.shifts.at(-1);
    const url = `${projects}/DEMO/drives/D1/shifts/${last?.date}/${last?.shift}`;
    const standing = await fetch(url);
    const document = (await standing.json()) as ShiftDocument;
    const [begin] = document.activities;
    document.activities.push({
      startedAt: '2021-03-31T06:00:00+02:00',
      endedAt: begin?.startedAt ?? '',
      code: 'CREW',
      responsibleParty: 'contractor',
    });
    const boring = document.activities.findLast(({ code }) => code === 'BORING');
    const stroke = document.strokes.at(-1)?.borings.at(-1);
    if (boring && stroke) boring.endedAt = stroke.endedAt;
    const answer = await fetch(url, {
      method: 'PUT',
      headers: { 'content-type': 'application/json', 'if-match': standing.headers.get('etag') ?? '' },
      body: JSON.stringify({ ...document, state: 'submitted' }),
    });
    expect(await answer.text()).toContain('"openItems":[]');
  };
});
