import { Injectable } from '@nestjs/common';
import { notFound, ProblemError } from '../api/problem.js';
import { Database } from '../database/database.js';
import type { Scope } from '../database/scope.js';
import type { Caller } from './caller.js';
import { Fleeting } from './fleeting.js';
import { type Permission, PERMISSIONS, permissionsOf, type Role } from './permissions.js';
import { LOCAL_SUBJECT, type Principal } from './principal.js';

interface Grant {
  projectId: number;
  permissions: ReadonlySet<Permission>;
}

const EVERYTHING: ReadonlySet<Permission> = new Set(PERMISSIONS);

const isLocal = ({ subject }: Principal): boolean => subject === LOCAL_SUBJECT;

/** Decides what a caller may do in which project. What it finds in the database it believes for a moment only. */
@Injectable()
export class Access {
  private readonly grants = new Fleeting<Grant | null>();

  constructor(private readonly database: Database) {}

  /**
   * The scope of a call in a project.
   * @throws ProblemError not_found when there is no such project, or none that the caller may know of; forbidden
   */
  async enter(caller: Caller, project: string, permission: Permission): Promise<Scope> {
    const grant = await this.grant(caller.principal, project);
    if (!grant || grant.permissions.size === 0) throw notFound(`project ${project}`);
    if (!grant.permissions.has(permission))
      throw new ProblemError(
        'forbidden',
        `${caller.principal.subject} has no ${permission} in project ${project}.`,
      );
    return scopeOf(caller, project, grant.projectId);
  }

  /**
   * The scope of a project that is made by this call, or of the one that exists. A caller who may neither make projects
   * nor know of this one gets the same answer, by the same statements, whether it exists or not.
   */
  async enterNew(caller: Caller, project: string, permission: Permission): Promise<Scope> {
    const grant = await this.grant(caller.principal, project);
    if (grant && grant.permissions.size > 0) return this.enter(caller, project, permission);
    if (!(await this.mayCreate(caller.principal, permission)))
      throw new ProblemError(
        'forbidden',
        `${caller.principal.subject} may not make projects: an administrator of the installation does.`,
      );
    if (grant) throw notFound(`project ${project}`);
    const [next] = await this.database.ask<{ id: number }>(`select nextval('project_id_seq')::int as id`);
    this.grants.forget();
    return scopeOf(caller, project, next?.id ?? 0);
  }

  /** Whether the scope would be given again. @throws ProblemError as enter */
  async stillHolds(
    principal: Principal,
    { project, requestId = '' }: Scope,
    permission: Permission,
  ): Promise<void> {
    await this.enter({ principal, requestId }, project, permission);
  }

  /** The scopes of all projects that the caller may read, by code. */
  async readable(caller: Caller): Promise<Scope[]> {
    const { principal } = caller;
    const codes = await this.database.ask<{ code: string }>('select code from project_codes($1, $2)', [
      principal.key || isLocal(principal) ? null : principal.subject,
      principal.key?.projectId ?? null,
    ]);
    const scopes: Scope[] = [];
    for (const { code } of codes) {
      const grant = await this.grant(principal, code);
      if (grant?.permissions.has('record.read')) scopes.push(scopeOf(caller, code, grant.projectId));
    }
    return scopes;
  }

  private grant(principal: Principal, project: string): Promise<Grant | null> {
    const { subject, key } = principal;
    const scopes = key ? `${key.projectId ?? ''} ${key.scopes.join()}` : '';
    return this.grants.get(JSON.stringify([subject, scopes, project]), () => this.ask(principal, project));
  }

  private async ask(principal: Principal, project: string): Promise<Grant | null> {
    const [found] = await this.database.ask<{ project_id: number; roles: Role[]; administrator: boolean }>(
      'select project_id, roles, administrator from project_access($1, $2)',
      [principal.subject, project],
    );
    if (!found) return null;
    const { project_id: projectId, roles, administrator } = found;
    const { key } = principal;
    if (isLocal(principal)) return { projectId, permissions: EVERYTHING };
    if (key) {
      const reached = key.projectId === null || key.projectId === projectId;
      return { projectId, permissions: new Set(reached ? key.scopes : []) };
    }
    return { projectId, permissions: permissionsOf(administrator ? [...roles, 'administrator'] : roles) };
  }

  private async mayCreate(principal: Principal, permission: Permission): Promise<boolean> {
    if (isLocal(principal)) return true;
    const { key, subject } = principal;
    if (key) return key.projectId === null && key.scopes.includes(permission);
    const [found] = await this.database.ask<{ is: boolean }>('select is_administrator($1) as is', [subject]);
    return found?.is ?? false;
  }
}

const scopeOf = (
  { principal, requestId, reason, asOf }: Caller,
  project: string,
  projectId: number,
): Scope => ({
  projectId,
  project,
  actor: principal.subject,
  credential: principal.credential,
  requestId,
  reason,
  asOf,
});
