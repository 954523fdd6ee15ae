import { setImmediate } from 'node:timers/promises';
import { Injectable } from '@nestjs/common';
import { notFound, ProblemError } from '../api/problem.js';
import { Database } from '../database/database.js';
import type { Scope } from '../database/scope.js';
import type { SharedReading } from '../database/shared-reading.js';
import type { Caller } from './caller.js';
import { TtlCache } from './ttl-cache.js';
import { type Permission, PERMISSIONS, permissionsOf, type Role } from './permissions.js';
import { LOCAL_SUBJECT, type Principal } from './principal.js';

interface Grant {
  projectId: number;
  permissions: ReadonlySet<Permission>;
}

/** A subject's roles in a project, as stored. */
interface Found {
  code: string;
  project_id: number;
  roles: Role[];
  administrator: boolean;
}

/** Projects looked up together. */
interface Gathering {
  projects: Set<string>;
  found: Promise<Map<string, Found>>;
}

const EVERYTHING: ReadonlySet<Permission> = new Set(PERMISSIONS);

const isLocal = ({ subject }: Principal): boolean => subject === LOCAL_SUBJECT;

const grantKey = ({ subject, key }: Principal, project: string): string =>
  JSON.stringify([subject, key ? `${key.projectId ?? ''} ${key.scopes.join()}` : '', project]);

const grantOf = (principal: Principal, { project_id: projectId, roles, administrator }: Found): Grant => {
  const { key } = principal;
  if (isLocal(principal)) return { projectId, permissions: EVERYTHING };
  if (key) {
    const reached = key.projectId === null || key.projectId === projectId;
    return { projectId, permissions: new Set(reached ? key.scopes : []) };
  }
  return { projectId, permissions: permissionsOf(administrator ? [...roles, 'administrator'] : roles) };
};

/** Decides what a caller may do in which project. Results of the database are cached for a moment only. */
@Injectable()
export class Access {
  private readonly grants = new TtlCache<Grant | null>();
  private readonly gatherings = new WeakMap<SharedReading, Gathering>();

  constructor(private readonly database: Database) {}

  /**
   * The scope of a call in a project.
   * @throws ProblemError not_found when there is no such project or the caller may not know of it; forbidden
   */
  async enter(caller: Caller, project: string, permission: Permission): Promise<Scope> {
    const grant = await this.grant(caller, project);
    if (!grant || grant.permissions.size === 0) throw notFound(`project ${project}`);
    if (!grant.permissions.has(permission))
      throw new ProblemError(
        'forbidden',
        `${caller.principal.subject} has no ${permission} in project ${project}.`,
      );
    return scopeOf(caller, project, grant);
  }

  /**
   * The scope of a project that this call creates, or of the existing one. A caller who may neither create projects nor know of
   * this one gets the same answer, by the same statements, whether it exists or not.
   */
  async enterNew(caller: Caller, project: string, permission: Permission): Promise<Scope> {
    const grant = await this.grant(caller, project);
    if (grant && grant.permissions.size > 0) return this.enter(caller, project, permission);
    if (!(await this.mayCreate(caller.principal, permission)))
      throw new ProblemError(
        'forbidden',
        `${caller.principal.subject} may not create projects: only an administrator of the installation may.`,
      );
    if (grant) throw notFound(`project ${project}`);
    const [next] = await this.database.ask<{ id: number }>(`select nextval('project_id_seq')::int as id`);
    this.grants.forget();
    return scopeOf(caller, project, { projectId: next?.id ?? 0 });
  }

  /** Whether the caller would still get the same scope. @throws ProblemError as enter */
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
    const { subject, key } = principal;
    const found = await this.database.ask<Found>(
      `select c.code, a.project_id, a.roles, a.administrator
        from project_codes($1, $2) with ordinality as c(code, place), project_access($3, c.code) a order by c.place`,
      [key || isLocal(principal) ? null : subject, key?.projectId ?? null, subject],
    );
    return found.flatMap((each) => {
      const grant = grantOf(principal, each);
      void this.grants.get(grantKey(principal, each.code), () => Promise.resolve(grant)); // its fields need it next
      return grant.permissions.has('record.read') ? [scopeOf(caller, each.code, grant)] : [];
    });
  }

  private grant({ principal, readings }: Caller, project: string): Promise<Grant | null> {
    return this.grants.get(grantKey(principal, project), async () => {
      const asked = readings
        ? this.askTogether(principal, readings, project)
        : this.ask(principal, new Set([project]));
      const found = (await asked).get(project);
      return found ? grantOf(principal, found) : null;
    });
  }

  /** Makes one query for all projects that the fields of an operation name within a turn of the event loop. */
  private askTogether(
    principal: Principal,
    operation: SharedReading,
    project: string,
  ): Promise<Map<string, Found>> {
    const gathering = this.gatherings.get(operation) ?? this.gather(principal, operation);
    gathering.projects.add(project);
    return gathering.found;
  }

  private gather(principal: Principal, operation: SharedReading): Gathering {
    const projects = new Set<string>();
    const found = setImmediate().then(() => {
      this.gatherings.delete(operation);
      return this.ask(principal, projects);
    });
    const gathering = { projects, found };
    this.gatherings.set(operation, gathering);
    return gathering;
  }

  /** Access found for each project; no entry for one that does not exist. */
  private async ask({ subject }: Principal, projects: ReadonlySet<string>): Promise<Map<string, Found>> {
    const found = await this.database.ask<Found>(
      `select p.code, a.project_id, a.roles, a.administrator
        from unnest($2::text[]) as p(code), project_access($1, p.code) a`,
      [subject, [...projects]],
    );
    return new Map(found.map((each) => [each.code, each]));
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
  { principal, requestId, reason, asOf, readings }: Caller,
  project: string,
  { projectId, permissions }: Partial<Grant> & Pick<Grant, 'projectId'>,
): Scope => ({
  projectId,
  project,
  permissions,
  actor: principal.subject,
  credential: principal.credential,
  requestId,
  reason,
  asOf,
  readings,
});
