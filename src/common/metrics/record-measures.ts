import { Injectable, Logger } from '@nestjs/common';
import { Config } from '../config/config.js';
import { ServiceClient } from '../database/service-client.js';
import { Measures, type Values } from './measures.js';

/** Minimum interval between queries of the record. [ms] */
const BELIEVED_MS = 60_000;

/** Time limit of the queries; after a timeout the previous figures stay. [ms] */
const LIMIT_MS = 20_000;

/** How long the first reading of the metrics waits for these figures; if they take longer, they come with the next. [ms] */
const FIRST_WAIT_MS = 2000;

/** Number of drives reported, those with the newest shifts first: the number of labels must be bounded. */
const MOST_DRIVES = 100;

interface Figures {
  drives: { project: string; drive: string; openItems: number; lastShiftAgeS: number | null }[];
  projects: {
    project: string;
    changes: number;
    lastChangeAgeS: number | null;
    attachmentBytes: number;
    deadDeliveries: number;
  }[];
}

/** What an operator monitors of the record, over all projects, queried over a separate connection. */
@Injectable()
export class RecordMeasures {
  private readonly log = new Logger(RecordMeasures.name);
  private figures: (Figures & { readAt: Date }) | undefined;
  private reading: { until: number; done: Promise<void> } | undefined;

  constructor(
    measures: Measures,
    private readonly config: Config,
  ) {
    const ofDrives =
      (read: (drive: Figures['drives'][number]) => number | null) =>
      (found: Figures): Values =>
        found.drives.flatMap((each) => labelled({ project: each.project, drive: each.drive }, read(each)));
    const ofProjects =
      (read: (project: Figures['projects'][number]) => number | null) =>
      (found: Figures): Values =>
        found.projects.flatMap((each) => labelled({ project: each.project }, read(each)));
    const gauge = (name: string, help: string, labels: string[], read: (found: Figures) => Values): void =>
      measures.gauge(name, help, labels, async () => {
        await this.refresh();
        return this.figures ? read(this.figures) : [];
      });
    const drive = ['project', 'drive'];
    gauge(
      'drivebook_open_items',
      'Open items of a drive',
      drive,
      ofDrives(({ openItems }) => openItems),
    );
    gauge(
      'drivebook_last_shift_age_seconds',
      'Time since the end of the last shift that was posted',
      drive,
      ofDrives(({ lastShiftAgeS }) => lastShiftAgeS),
    );
    gauge(
      'drivebook_history_changes',
      'Number of the last change in the history of a project',
      ['project'],
      ofProjects(({ changes }) => changes),
    );
    gauge(
      'drivebook_history_last_change_age_seconds',
      'Time since the last change of a project',
      ['project'],
      ofProjects(({ lastChangeAgeS }) => lastChangeAgeS),
    );
    gauge(
      'drivebook_attachment_bytes',
      'What the attachments of a project use on disk, removed ones included',
      ['project'],
      ofProjects(({ attachmentBytes }) => attachmentBytes),
    );
    gauge(
      'drivebook_webhook_dead_deliveries',
      'Messages to webhooks of a project that were given up, until they are sent again by hand or removed',
      ['project'],
      ofProjects(({ deadDeliveries }) => deadDeliveries),
    );
    measures.gauge('drivebook_attachment_quota_bytes', 'What those of a project may use', [], () => [
      [{}, config.attachmentQuotaMb * 1024 * 1024],
    ]);
    gauge(
      'drivebook_record_measured_timestamp_seconds',
      'When these figures of the record were read',
      [],
      () => (this.figures ? [[{}, this.figures.readAt.getTime() / 1000]] : []),
    );
  }

  /** Refreshes figures older than a minute; only the first reading waits for it. */
  private async refresh(): Promise<void> {
    const now = performance.now();
    if (!this.reading || this.reading.until <= now)
      this.reading = { until: now + BELIEVED_MS, done: this.read() };
    if (this.figures) return;
    let timer: NodeJS.Timeout | undefined;
    const limit = new Promise<void>((resolve) => (timer = setTimeout(resolve, FIRST_WAIT_MS)));
    await Promise.race([this.reading.done, limit]);
    clearTimeout(timer);
  }

  private async read(): Promise<void> {
    const client = new ServiceClient({
      connectionString: this.config.databaseUrl,
      query_timeout: LIMIT_MS,
      application_name: 'drivebook metrics',
    });
    try {
      await client.connect();
      await client.query(
        `begin read only; set local role drivebook_app; set local statement_timeout = ${LIMIT_MS}`,
      );
      const { rows } = await client.query<{ figures: Figures }>('select service_measures($1) as figures', [
        MOST_DRIVES,
      ]);
      if (rows[0]) this.figures = { ...rows[0].figures, readAt: new Date() };
    } catch (error) {
      this.log.warn(
        `The figures of the record for the metrics could not be read: ${(error as Error).message}`,
      );
    } finally {
      await client.end().catch(() => undefined);
    }
  }
}

const labelled = (labels: Record<string, string>, value: number | null): Values =>
  value === null ? [] : [[labels, value]];
