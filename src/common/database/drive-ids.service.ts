import { Injectable } from '@nestjs/common';
import { notFound } from '../api/problem.js';
import { Database } from './database.js';

/** Finds a drive by its natural key. */
@Injectable()
export class DriveIdsService {
  constructor(private readonly database: Database) {}

  /** @throws ProblemError not_found naming the project or the drive */
  async of(project: string, drive: string): Promise<number> {
    const [found] = await this.database.$queryRawUnsafe<{ id: number | null }[]>(
      `select d.id from project p left join drive d on d.project_id = p.id and d.code = $2 where p.code = $1`,
      project,
      drive,
    );
    if (!found) throw notFound(`project ${project}`);
    if (found.id === null) throw notFound(`drive ${drive} in project ${project}`);
    return found.id;
  }
}
