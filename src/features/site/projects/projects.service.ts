import { Injectable } from '@nestjs/common';
import { faulty, notFound, type ProblemError } from '../../../common/api/problem.js';
import { Access } from '../../../common/auth/access.js';
import type { Caller } from '../../../common/auth/caller.js';
import { Database } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { inScope, scope } from '../../../common/database/scope.js';
import type { SharedReading } from '../../../common/database/shared-reading.js';
import { sqlStateOf } from '../../../common/database/sql-error.js';
import { IS_IANA } from '../../../common/database/time-zones.js';
import { StrokeDay } from '../../../generated/prisma/enums.js';
import { Project, type ProjectInput } from './project.model.js';

const PROJECT = sql`select ${columnsOf(Project)} from project`;

const UNKNOWN_TIME_ZONE = '22023';

const NAMED = `select from pg_timezone_names where name = $1 and ${IS_IANA}`;

const unknownTimeZone = (timeZone: string): ProblemError =>
  faulty('invalid', [
    {
      in: 'body',
      pointer: '/timeZone',
      value: timeZone,
      detail: `timeZone ${timeZone} is not a time zone of the IANA database: write its name as it stands there, such as Europe/Zurich`,
    },
  ]);

@Injectable()
export class ProjectsService {
  constructor(
    private readonly database: Database,
    private readonly access: Access,
  ) {}

  /** The projects that the caller may read, by code; as of a moment, those that existed then. */
  async list(caller: Caller): Promise<Project[]> {
    const scopes = await this.access.readable(caller);
    const read = async (readings: SharedReading): Promise<Project[]> =>
      (
        await Promise.all(
          scopes.map((each) => inScope({ ...each, readings }, () => this.database.read(PROJECT))),
        )
      ).flat();
    return caller.readings ? read(caller.readings) : this.database.together(read);
  }

  async get(): Promise<Project> {
    const [project] = await this.database.read(PROJECT);
    if (!project) throw notFound(`project ${scope().project}`); // it did not exist yet at that moment
    return project;
  }

  async put(input: ProjectInput): Promise<Project> {
    const { projectId: id, project: code } = scope();
    const values = {
      ...input,
      strokeDay: input.strokeDay ?? StrokeDay.split_by_time,
      signaturesByOneParty: input.signaturesByOneParty ?? null,
    };
    try {
      await this.database.atomic(async (transaction) => {
        await transaction.project.upsert({ where: { id }, create: { id, code, ...values }, update: values });
        const known = await transaction.$queryRawUnsafe<object[]>(NAMED, input.timeZone);
        if (known.length === 0) throw unknownTimeZone(input.timeZone);
      });
    } catch (error) {
      if (sqlStateOf(error) !== UNKNOWN_TIME_ZONE) throw error;
      throw unknownTimeZone(input.timeZone);
    }
    return this.get();
  }
}
