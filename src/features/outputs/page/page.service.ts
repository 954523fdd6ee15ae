import { Injectable } from '@nestjs/common';
import { Access } from '../../../common/auth/access.js';
import type { Caller } from '../../../common/auth/caller.js';
import { LOCAL_SUBJECT } from '../../../common/auth/principal.js';
import { Database } from '../../../common/database/database.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { DrivesService } from '../../site/drives/drives.service.js';
import { ProjectsService } from '../../site/projects/projects.service.js';
import { AdvanceGlances } from './advance-glance.service.js';
import type { AdvanceGlance, Glance, ListedDrive, Reader, StateGlance } from './glance.js';
import { StateGlances } from './state-glance.service.js';

/** Readers of the parts of a drive's page. */
@Injectable()
export class Glances {
  constructor(
    private readonly advance: AdvanceGlances,
    private readonly state: StateGlances,
  ) {}

  async of(drive: string, now: Date): Promise<AdvanceGlance & StateGlance> {
    const [advance, state] = await Promise.all([this.advance.of(drive, now), this.state.of(drive)]);
    return { ...advance, ...state };
  }
}

/** The content of the pages: each of one state of the record, read in one transaction. */
@Injectable()
export class PageService {
  constructor(
    private readonly database: Database,
    private readonly access: Access,
    private readonly projects: ProjectsService,
    private readonly drives: DrivesService,
    private readonly glances: Glances,
  ) {}

  /** The drives of all projects that the caller may read, by project and code. */
  async drivesOf(caller: Caller): Promise<ListedDrive[]> {
    const scopes = await this.access.readable(caller);
    return this.database.together(async (readings) => {
      const listed = await Promise.all(
        scopes.map((each) =>
          inScope({ ...each, readings }, async () => {
            const [project, drives] = await Promise.all([this.projects.get(), this.drives.list()]);
            return drives.map((drive) => ({ project, drive }));
          }),
        ),
      );
      return listed.flat();
    });
  }

  /** @throws ProblemError not_found naming the drive */
  async drive(caller: Caller, code: string): Promise<Glance> {
    const reader = await this.readerOf(caller);
    const now = await this.database.now();
    const current = scope();
    return this.database.together(
      (readings) =>
        inScope({ ...current, readings }, async () => {
          const [drive, project] = await Promise.all([this.drives.get(code), this.projects.get()]);
          return { project, drive, now, reader, ...(await this.glances.of(code, now)) };
        }),
      current.load,
    );
  }

  private async readerOf(caller: Caller): Promise<Reader> {
    const { subject } = caller.principal;
    const mayFollow = await this.access.enter(caller, scope().project, 'history.read').then(
      () => true,
      () => false,
    );
    return { subject, isLocal: subject === LOCAL_SUBJECT, mayFollow };
  }
}
