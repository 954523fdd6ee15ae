import { Injectable } from '@nestjs/common';
import { ProbeCoverService } from '../../ahead/probing/probe-cover.service.js';
import { AlertState } from '../../watch/alerts/alert.models.js';
import { AlertsService } from '../../watch/alerts/alerts.service.js';
import { DiagramsService } from '../diagrams/diagrams.service.js';
import { RecordService } from '../record/record.service.js';
import type { StateGlance } from './glance.js';

/** Most open alerts shown; the page says when there are more. */
const ALERTS_SHOWN = 20;

/** What lies ahead of the drive, and what is still missing from its record. */
@Injectable()
export class StateGlances {
  constructor(
    private readonly record: RecordService,
    private readonly alerts: AlertsService,
    private readonly covers: ProbeCoverService,
    private readonly diagrams: DiagramsService,
  ) {}

  async of(drive: string): Promise<StateGlance> {
    const [openItems, alerts, cover, diagrams] = await Promise.all([
      this.record.openItems(drive),
      this.alerts.page({ drive, state: AlertState.open, first: ALERTS_SHOWN }),
      this.covers.get(drive),
      this.diagrams.list(drive),
    ]);
    return { openItems, alerts, cover, diagrams };
  }
}
