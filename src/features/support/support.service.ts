import { Injectable } from '@nestjs/common';
import { Database } from '../../common/database/database.js';
import { DriveIdsService } from '../../common/database/drive-ids.service.js';
import type {
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  SupportQuantity,
} from './support.models.js';

const FIGURES = `item_code as item, kind, description, unit, zone, quantity::text as quantity, row_count as "rowCount"`;

const TOTAL = `select ${FIGURES} from report.support_total where drive_id = $1 order by item_code, zone`;

const BY_DAY = `select production_day as "productionDay", ${FIGURES} from report.support_by_day
  where drive_id = $1 order by production_day, item_code, zone`;

const BY_GROUND_CLASS = `select ground_class_code as "groundClass", ${FIGURES} from report.support_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, item_code, zone`;

const BY_INTERVAL = `select chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, ${FIGURES}
  from report.support_in_intervals($1, $2, $3::numeric) order by from_m, item_code, zone`;

@Injectable()
export class SupportService {
  constructor(
    private readonly database: Database,
    private readonly driveIds: DriveIdsService,
  ) {}

  async total(project: string, drive: string): Promise<SupportQuantity[]> {
    return this.database.read<SupportQuantity>(TOTAL, await this.driveIds.of(project, drive));
  }

  async byDay(project: string, drive: string): Promise<SupportByDay[]> {
    return this.database.read<SupportByDay>(BY_DAY, await this.driveIds.of(project, drive));
  }

  async byGroundClass(project: string, drive: string): Promise<SupportByGroundClass[]> {
    return this.database.read<SupportByGroundClass>(BY_GROUND_CLASS, await this.driveIds.of(project, drive));
  }

  async byInterval(project: string, drive: string, lengthM: number): Promise<SupportByInterval[]> {
    await this.driveIds.of(project, drive);
    return this.database.read<SupportByInterval>(BY_INTERVAL, project, drive, String(lengthM));
  }
}
