import { Injectable } from '@nestjs/common';
import type { Scope } from '../database/scope.js';

/** Context in which a job runs. */
export interface JobContext {
  /** its number */
  number: number;
  /** project and requester */
  scope: Scope;
  /** its input, validated when the job was created */
  input: Record<string, unknown>;
  /** the uploaded file; removed when the job has ended */
  upload?: string;
  /** A path for the result file. @param extension  such as zip */
  place(extension: string): Promise<string>;
}

/** A result file. */
export interface JobFile {
  path: string;
  /** name for downloads: codes, dots and hyphens only */
  name: string;
  mediaType: string;
}

/** Progress: 0 to 100, the current step, and the outcome so far, in the terms of its kind. */
export type JobProgress = (percent: number, step: string, outcome?: object) => void;

/** A kind of work, registered by a feature. A job may be restarted from the beginning if the service ends while it runs. */
export interface JobKind {
  name: string;
  /**
   * @param signal  aborted when the job is cancelled or the service ends: partial output must not look complete then
   * @throws ProblemError with a message for the requester; any other error is logged
   */
  run(context: JobContext, progress: JobProgress, signal: AbortSignal): Promise<JobFile | undefined>;
}

/** The kinds of jobs known to this build. */
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
