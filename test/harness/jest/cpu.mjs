import path from 'node:path';
import { readdirSync, readFileSync } from 'node:fs';

const tests = path.join(import.meta.dirname, '..', '..');

/** Linux counts in ticks, always 100 per second here. */
const TICKS_PER_S = 100;

/** CPU time of this process and its descendants, including ended ones, and PostgreSQL's share of it. [s] */
const used = () => {
  const processes = new Map();
  for (const id of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    try {
      const [, name, rest] = /\((.*)\) (.*)/s.exec(readFileSync(`/proc/${id}/stat`, 'utf8'));
      const fields = rest.split(' ');
      const seconds = fields.slice(11, 15).reduce((sum, field) => sum + Number(field), 0) / TICKS_PER_S;
      processes.set(id, { name, parent: fields[1], seconds });
    } catch {
      // it has already ended
    }
  }
  const isBelow = (id) => {
    for (let at = id; at !== undefined; at = processes.get(at)?.parent)
      if (at === String(process.pid)) return true;
    return false;
  };
  const sum = { all: 0, postgres: 0 };
  for (const [id, { name, seconds }] of processes) {
    if (!isBelow(id)) continue;
    sum.all += seconds;
    if (name === 'postgres') sum.postgres += seconds;
  }
  return sum;
};

const figure = (seconds) => seconds.toFixed(1).padStart(8);

/** Prints the CPU time of each file, Node and PostgreSQL together: on Linux, with one worker (DEVELOPERS.md). */
export default class CpuReporter {
  #before = used();
  #files = [];

  onTestFileResult({ path: file }, { numPassingTests, perfStats }) {
    const now = used();
    const cpu = now.all - this.#before.all;
    const columns = [cpu, now.postgres - this.#before.postgres, (perfStats.end - perfStats.start) / 1000];
    const line = `${columns.map(figure).join('')}${String(numPassingTests).padStart(7)}  ${path.relative(tests, file)}`;
    this.#before = now;
    this.#files.push({ cpu, line });
    if (process.env.CPU_LOG) process.stderr.write(`CPU ${line}\n`);
  }

  onRunComplete() {
    this.#files.sort((one, other) => other.cpu - one.cpu);
    const { all, postgres } = used();
    process.stderr.write(
      `${['   CPU s of Postgres  wall  tests  file', ...this.#files.map(({ line }) => line)].join('\n')}\n${figure(all)}${figure(postgres)} in all\n`,
    );
  }
}
