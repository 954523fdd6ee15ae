import { setTimeout as wait } from 'node:timers/promises';
import { Injectable, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import { Config } from '../../../common/config/config.js';
import { Database } from '../../../common/database/database.js';
import { inScope } from '../../../common/database/scope.js';
import { Background } from '../../../common/work/background.js';

interface AlertDrive {
  projectId: number;
  project: string;
  driveId: number;
}

const DRIVES = `select project_id as "projectId", project, drive_id as "driveId" from alert_drives()`;

const RAISE = `select raise_alerts($1::int) as moved`;

/** Raises and clears alerts that depend on time alone, drive by drive, each in a transaction; of several instances, one handles a drive at a time. */
@Injectable()
export class AlertClock implements OnApplicationBootstrap {
  private readonly log = new Logger(AlertClock.name);

  constructor(
    private readonly database: Database,
    private readonly config: Config,
    private readonly background: Background,
  ) {}

  onApplicationBootstrap(): void {
    if (this.config.alertIntervalS > 0) void this.background.run(() => this.go()).catch(() => undefined);
  }

  private async go(): Promise<void> {
    const { signal } = this.background;
    while (!signal.aborted) {
      await wait(this.config.alertIntervalS * 1000, undefined, { signal, ref: false }).catch(() => undefined);
      if (!signal.aborted) await this.strike();
    }
  }

  /** Evaluates every drive once; if one fails, the others continue. */
  async strike(): Promise<void> {
    try {
      for (const drive of await this.database.ask<AlertDrive>(DRIVES)) {
        if (this.background.signal.aborted) return;
        await this.judge(drive);
      }
    } catch (error) {
      this.warn(error);
    }
  }

  private async judge({ projectId, project, driveId }: AlertDrive): Promise<void> {
    const load = { cost: 1, gone: this.background.signal };
    try {
      await inScope({ projectId, project, actor: 'drivebook', credential: 'service', load }, () =>
        this.database.keeping((send) => send(RAISE, driveId)),
      );
    } catch (error) {
      this.warn(error);
    }
  }

  private warn(error: unknown): void {
    if (!this.background.signal.aborted)
      this.log.warn(`Alerts were not judged by the clock: ${(error as Error).message}`);
  }
}
