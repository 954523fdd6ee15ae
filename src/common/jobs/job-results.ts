import { mkdir, readdir, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { ProblemError } from '../api/problem.js';
import { Config } from '../config/config.js';
import { sha256Of } from '../files/disk.js';

/** Folder for results of jobs of all projects, within that of the attachments. */
export const RESULTS = 'results';

/** A recent file may be a result that its job has not recorded yet. [ms] */
const COMING_MS = 3_600_000;

/** Result files of jobs, in the folder of attachments, which all instances share. */
@Injectable()
export class JobResults {
  constructor(private readonly config: Config) {}

  /** @throws ProblemError conflict when the service has no attachments folder */
  assertPlace(): void {
    this.folder();
  }

  /** The path for the result of an attempt. */
  async place(projectId: number, name: string): Promise<string> {
    const file = this.path(projectId, name);
    await mkdir(path.dirname(file), { recursive: true, mode: 0o700 });
    await rm(file, { recursive: true, force: true }); // left by an attempt that ended before recording it
    return file;
  }

  path(projectId: number, name: string): string {
    return path.join(this.folder(), String(projectId), name);
  }

  async remove(projectId: number, name: string): Promise<void> {
    await rm(this.path(projectId, name), { recursive: true, force: true });
  }

  async measured(file: string): Promise<{ bytes: number; sha256: string }> {
    return { bytes: (await stat(file)).size, sha256: await sha256Of(file) };
  }

  /** Removes files that are not the result of any job. @param kept  by project and name */
  async sweep(kept: ReadonlySet<string>): Promise<void> {
    if (this.config.attachmentsDir === undefined) return;
    const folder = this.folder();
    for (const project of await readdir(folder).catch(() => []))
      for (const name of await readdir(path.join(folder, project)).catch(() => [])) {
        const file = path.join(folder, project, name);
        const isComing = Date.now() - (await stat(file).catch(() => ({ mtimeMs: 0 }))).mtimeMs < COMING_MS;
        if (!kept.has(`${project}/${name}`) && !isComing) await rm(file, { recursive: true, force: true });
      }
  }

  private folder(): string {
    const { attachmentsDir } = this.config;
    if (attachmentsDir === undefined)
      throw new ProblemError(
        'conflict',
        'This service has no folder for files: set ATTACHMENTS_DIR, in which results of jobs are kept.',
      );
    return path.join(attachmentsDir, RESULTS);
  }
}
