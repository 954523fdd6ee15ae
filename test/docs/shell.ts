import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readFile, rm, symlink } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';
import type { Block } from './pages.js';

/** The address that the pages assume. */
const DOCUMENTED = '127.0.0.1:3000';

/** The status of every request sent by a block, in order, with the request. */
export type Sent = { status: number; request: string }[];

/** `curl`, redirected to the service of the test, with its answers recorded. */
const preludeFor = (port: number): string => `
set -eu -o pipefail
curl() {
  command curl "$@" --connect-to ${DOCUMENTED}:127.0.0.1:${port} \\
    -w '%{stderr}%{http_code} %{method} %{url_effective}\\n' 2>> "$BLOCK"
}
`;

const asScript = (blocks: Block[], port: number): string =>
  preludeFor(port) +
  blocks.map(({ text }, index) => `BLOCK="$NOTES/${index}"; : > "$BLOCK"\n${text}`).join('\n');

const sentBy = (note: string): Sent =>
  note
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => {
      const [, status, request] = /^(\d{3}) (.*)$/.exec(line) ?? [];
      return { status: Number(status ?? 0), request: request ?? line };
    });

/**
 * Runs the blocks one after the other in one shell, as a reader would, in a folder with the repository's documents.
 * @returns what each block sent, up to the one that failed, and the shell's output for that
 */
export const inOneShell = async (
  blocks: Block[],
  port: number,
): Promise<{ status: number | null; said: string; sent: Record<string, Sent> }> => {
  const folder = await mkdtemp(path.join(tmpdir(), 'guide-'));
  try {
    await symlink(path.join(packageRoot, 'docs'), path.join(folder, 'docs'));
    const shell = spawn('bash', ['-s'], {
      cwd: folder,
      env: { PATH: process.env.PATH, LC_ALL: 'C.UTF-8', NOTES: folder },
      stdio: ['pipe', 'ignore', 'pipe'],
    });
    let said = '';
    shell.stderr.on('data', (bytes) => (said += String(bytes)));
    shell.stdin.end(asScript(blocks, port));
    const [status] = (await once(shell, 'close')) as [number | null];
    const notes = await Promise.all(
      blocks.map(({ place }, index) =>
        readFile(path.join(folder, String(index)), 'utf8').then(
          (note) => [[place, sentBy(note)]] as const,
          () => [],
        ),
      ),
    );
    return { status, said, sent: Object.fromEntries(notes.flat()) };
  } finally {
    await rm(folder, { recursive: true });
  }
};
