import { Injectable } from '@nestjs/common';
import { faulty, notFound } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { sqlStateOf } from '../../common/database/sql-error.js';
import type { Project, ProjectInput } from './project.model.js';

const PROJECT = { code: true, name: true, timeZone: true, dayStart: true, currency: true };

const UNKNOWN_TIME_ZONE = '22023';

@Injectable()
export class ProjectsService {
  constructor(private readonly database: Database) {}

  list(): Promise<Project[]> {
    return this.database.project.findMany({ select: PROJECT, orderBy: { code: 'asc' } });
  }

  async get(code: string): Promise<Project> {
    const project = await this.database.project.findUnique({ where: { code }, select: PROJECT });
    if (!project) throw notFound(`project ${code}`);
    return project;
  }

  /** @throws ProblemError not_found */
  async idOf(code: string): Promise<number> {
    const project = await this.database.project.findUnique({ where: { code }, select: { id: true } });
    if (!project) throw notFound(`project ${code}`);
    return project.id;
  }

  async put(code: string, input: ProjectInput): Promise<Project> {
    try {
      return await this.database.project.upsert({
        select: PROJECT,
        where: { code },
        create: { code, ...input },
        update: input,
      });
    } catch (error) {
      if (sqlStateOf(error) !== UNKNOWN_TIME_ZONE) throw error;
      const detail = `timeZone ${input.timeZone} is not a time zone of the IANA database`;
      throw faulty('invalid', [{ in: 'body', pointer: '/timeZone', value: input.timeZone, detail }]);
    }
  }
}
