import { userInfo } from 'node:os';
import { notFound } from '../common/api/problem.js';
import type { Database } from '../common/database/database.js';
import type { Scope } from '../common/database/scope.js';

/** The actor of a command is the user of its process. */
export const commandActor = (): string => `command:${userInfo().username}`;

/** The scope of a command in a project. @throws ProblemError not_found */
export const commandScope = async (database: Database, project: string): Promise<Scope> => {
  const [found] = await database.ask<{ project_id: number }>(
    `select project_id from project_access('', $1)`,
    [project],
  );
  if (!found) throw notFound(`project ${project}`);
  return {
    projectId: found.project_id,
    project,
    actor: commandActor(),
    credential: 'command',
  };
};

/** The codes of all projects. */
export const allProjects = async (database: Database): Promise<string[]> =>
  (await database.ask<{ code: string }>('select code from project_codes(null, null)')).map(
    ({ code }) => code,
  );
