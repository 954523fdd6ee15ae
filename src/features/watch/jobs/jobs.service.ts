import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { Injectable } from '@nestjs/common';
import type { KeptFile } from '../../../common/api/file-answer.js';
import { pageFrom, pageOf } from '../../../common/api/paging.js';
import { faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import type { Permission } from '../../../common/auth/permissions.js';
import { Database } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { JobResults } from '../../../common/jobs/job-results.js';
import { JobRunner } from '../../../common/jobs/job-runner.service.js';
import { Job, type JobFilter, type JobPage } from './job.models.js';

const JOB_COLUMNS = columnsOf(Job, 'j', {
  number: 'id',
  input: `j.input - 'upload'`,
  resultUrl: `case when j.result_file is not null then format('/v1/projects/%s/jobs/%s/result', p.code, j.id) end`,
  resultBytes: 'j.result_bytes::text',
  resultSha256: 'result_sha256',
});

const JOBS = sql`select ${JOB_COLUMNS} from public.job j join project p on p.id = j.project_id where j.id > $1
  and ($2::text is null or j.state::text = $2) and ($4::text is null or j.asked_by = $4) order by j.id limit $3`;

const JOB = sql`select ${JOB_COLUMNS} from public.job j join project p on p.id = j.project_id where j.id = $1
  and ($2::text is null or j.asked_by = $2)`;

const ASK = `insert into job (kind, input) values ($1, $2::jsonb) returning id`;

const UNDER_WAY = `select id from public.job where kind = $1 and state in ('waiting', 'running') order by id limit 1`;

const REMOVE = `delete from job where id = $1 and ($2::text is null or asked_by = $2) returning result_file, input->>'upload' as upload`;

const RESULT = `select result_file as file, result_name as name, result_type as type, result_bytes::float8 as bytes, result_sha256 as sha256, state::text as state
  from public.job where id = $1 and ($2::text is null or asked_by = $2)`;

interface Kept {
  file: string | null;
  name: string;
  type: string;
  bytes: number;
  sha256: string;
  state: string;
}

/** Owner of the jobs that the caller may see or remove: null for everybody's, if the permission allows that. */
const ownOnly = (permission: Permission): string | null => {
  const { actor, permissions } = scope();
  return permissions?.has(permission) ? null : actor;
};

/** Jobs are not part of the record, so they have no past. @throws ProblemError invalid */
const assertNow = (): void => {
  const { asOf } = scope();
  if (asOf === undefined) return;
  const [place, value] = 'instant' in asOf ? [asOf.in, asOf.instant] : (['query', asOf.change] as const);
  const detail = 'asOf does not apply to jobs: they are no part of the record, of which the past is kept';
  throw faulty('invalid', [{ in: place, pointer: '/asOf', value, detail }]);
};

/** Jobs of a project: creating, reading and cancelling them. */
@Injectable()
export class JobsService {
  constructor(
    private readonly database: Database,
    private readonly runner: JobRunner,
    private readonly results: JobResults,
  ) {}

  /**
   * Checks whether a job of the kind may be created now, before the request is read.
   * @throws ProblemError conflict while a job of the kind is waiting or running
   */
  async assertFree(kind: string): Promise<void> {
    this.results.assertPlace();
    const [other] = await this.database.read<{ id: number }>(UNDER_WAY, kind);
    if (other)
      throw new ProblemError(
        'conflict',
        `job ${other.id} of kind ${kind} is waiting or running: wait until it has ended, or cancel it`,
      );
  }

  /** @throws ProblemError conflict while a job of the kind is waiting or running, or when there were too many */
  async ask(kind: string, input: object): Promise<Job> {
    this.results.assertPlace();
    const number = await this.database.atomic(async (transaction) => {
      const [made] = await transaction.$queryRawUnsafe<{ id: number }[]>(ASK, kind, JSON.stringify(input));
      return made?.id ?? 0;
    });
    const job = await this.get(number);
    this.runner.look();
    return job;
  }

  async page(filter: JobFilter): Promise<JobPage> {
    assertNow();
    const { first, after } = pageOf(filter, 0);
    const seen = ownOnly('jobs.read');
    const items = await this.database.read(JOBS, after, filter.state ?? null, first + 1, seen);
    return pageFrom(items, first, ({ number }) => number);
  }

  /** @throws ProblemError not_found */
  async get(number: number): Promise<Job> {
    assertNow();
    const [found] = await this.database.read(JOB, number, ownOnly('jobs.read'));
    if (!found) throw absent(number);
    return found;
  }

  /** Cancels the job if it is waiting or running, and removes it with its result. @throws ProblemError not_found */
  async remove(number: number): Promise<void> {
    const gone = await this.database.atomic(async (transaction) =>
      transaction.$queryRawUnsafe<{ result_file: string | null; upload: string | null }[]>(
        REMOVE,
        number,
        ownOnly('jobs.write'),
      ),
    );
    const [job] = gone;
    if (!job) throw absent(number);
    this.runner.cancelled(number);
    for (const file of [job.result_file, job.upload])
      if (file !== null) await this.results.remove(scope().projectId, file);
  }

  /** @throws ProblemError not_found, wrong_state while there is none yet */
  async result(number: number): Promise<KeptFile> {
    assertNow();
    const [found] = await this.database.read<Kept>(RESULT, number, ownOnly('jobs.read'));
    if (!found) throw absent(number);
    const { file, name, type, bytes, sha256, state } = found;
    if (file === null)
      throw new ProblemError(
        'wrong_state',
        state === 'done'
          ? `job ${number} has no result any more`
          : `job ${number} is ${state}: it has no result`,
      );
    const path = this.results.path(scope().projectId, file);
    return {
      digest: sha256,
      disposition: `attachment; filename="${name}"`,
      type,
      bytes,
      open: async () => {
        const handle = await open(path, 'r').catch(() => {
          throw new ProblemError(
            'conflict',
            `the result of job ${number} is not in ATTACHMENTS_DIR of this instance`,
          );
        });
        return createReadStream(path, { fd: handle });
      },
    };
  }
}

const absent = (number: number): Error => notFound(`job ${number} in project ${scope().project}`);
