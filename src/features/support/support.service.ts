import { Injectable } from '@nestjs/common';
import { DriveReader } from '../../common/database/drive-reader.service.js';
import type {
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  SupportQuantity,
} from './support.models.js';

const FIGURES = `item_code as item, kind, description, unit, zone, quantity::text as quantity, row_count as "rowCount"`;

const TOTAL = `select ${FIGURES} from support_total where drive_id = $1 order by item_code, zone`;

const BY_DAY = `select production_day as "productionDay", ${FIGURES} from support_by_day
  where drive_id = $1 order by production_day, item_code, zone`;

const BY_GROUND_CLASS = `select ground_class_code as "groundClass", ${FIGURES} from support_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, item_code, zone`;

const BY_INTERVAL = `select chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, ${FIGURES}
  from support_in_intervals($1, $2, $3::numeric) order by from_m, item_code, zone`;

@Injectable()
export class SupportService {
  constructor(private readonly drives: DriveReader) {}

  total(drive: string): Promise<SupportQuantity[]> {
    return this.drives.read<SupportQuantity>(drive, TOTAL);
  }

  byDay(drive: string): Promise<SupportByDay[]> {
    return this.drives.read<SupportByDay>(drive, BY_DAY);
  }

  byGroundClass(drive: string): Promise<SupportByGroundClass[]> {
    return this.drives.read<SupportByGroundClass>(drive, BY_GROUND_CLASS);
  }

  async byInterval(drive: string, lengthM: number): Promise<SupportByInterval[]> {
    return (await this.drives.readByCodes<SupportByInterval>(drive, BY_INTERVAL, String(lengthM))).rows();
  }
}
