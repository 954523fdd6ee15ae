import { Injectable } from '@nestjs/common';
import type { Scope } from '../database/scope.js';

/** What a job is run with. */
export interface JobContext {
  /** its number */
  number: number;
  /** project, and who asked for it */
  scope: Scope;
  /** what was asked for, as it was checked when it was asked for */
  input: Record<string, unknown>;
  /** what was uploaded with it; it is removed when the job has ended */
  upload?: string;
  /** A path for the file of its result. @param extension  such as zip */
  place(extension: string): Promise<string>;
}

/** The file of a result. */
export interface JobFile {
  path: string;
  /** under which it is saved: codes, dots and hyphens only */
  name: string;
  mediaType: string;
}

/** How far it is: 0 to 100, what is under way, and what came of it so far, in the terms of its kind. */
export type JobProgress = (percent: number, step: string, outcome?: object) => void;

/** Work of one kind, which a feature registers. It may be begun again from its beginning when the service ends while it runs. */
export interface JobKind {
  name: string;
  /**
   * @param signal  aborted when it is cancelled or the service ends: what was written must not look complete then
   * @throws ProblemError worded for whoever asked; what else is thrown is logged
   */
  run(context: JobContext, progress: JobProgress, signal: AbortSignal): Promise<JobFile | undefined>;
}

/** The kinds of jobs that this build knows. */
@Injectable()
export class JobKinds {
  private readonly kinds = new Map<string, JobKind>();

  register(kind: JobKind): void {
    this.kinds.set(kind.name, kind);
  }

  get(name: string): JobKind | undefined {
    return this.kinds.get(name);
  }

  get names(): string[] {
    return [...this.kinds.keys()];
  }
}
