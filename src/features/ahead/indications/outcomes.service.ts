import { Injectable } from '@nestjs/common';
import { type ChainageWindow, partOf } from '../../../common/api/chainage-window.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import {
  type EncounterOutcome,
  type IndicationOutcome,
  type IndicationScore,
  SCORE_CAUTION,
} from './outcome.models.js';

const PART = 'drive_id = $1 and (to_m > $2::numeric or from_m >= $2::numeric) and from_m < $3::numeric';

/** Of indication_outcome. */
export const INDICATION_OUTCOME_COLUMNS = `investigation, method, method_name as "methodName", key, kind, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  from_uncertainty_m::text as "fromUncertaintyM", to_uncertainty_m::text as "toUncertaintyM", remark, chainage_text(face_chainage_m) as face,
  made_at as "madeAt", made_by as "madeBy", chainage_text(judged_from_chainage_m) as "judgedFrom", outcome, encounter_name as encounter,
  is_from_hole as "isFromHole", chainage_text(met_from_chainage_m) as "metFrom", chainage_text(met_to_chainage_m) as "metTo", met_at as "metAt",
  overlap_m::text as "overlapM", position_error_m::text as "positionErrorM", lead_m::text as "leadM", lead_days::text as "leadDays"`;

const INDICATIONS = `select ${INDICATION_OUTCOME_COLUMNS} from indication_outcome where ${PART} order by from_m, investigation, key`;

const ENCOUNTER_OUTCOME_COLUMNS = `encounter_name as encounter, is_from_hole as "isFromHole", kind, source, chainage_text(from_chainage_m) as from,
  chainage_text(to_chainage_m) as to, met_at as "metAt", investigation, method, method_name as "methodName", outcome, key`;

const ENCOUNTERS = `select ${ENCOUNTER_OUTCOME_COLUMNS} from encounter_outcome where ${PART} order by from_m, is_from_hole, encounter_name, investigation`;

const SCORES = `select method, method_name as "methodName", investigation_count as "investigationCount", indication_count as "indicationCount",
  open_count as "openCount", hit_count as "hitCount", false_alarm_count as "falseAlarmCount", missed_count as "missedCount", hit_percent::text as "hitPercent",
  indicated_percent::text as "indicatedPercent", mean_position_error_m::text as "meanPositionErrorM",
  mean_absolute_position_error_m::text as "meanAbsolutePositionErrorM", largest_position_error_m::text as "largestPositionErrorM",
  mean_lead_m::text as "meanLeadM", least_lead_m::text as "leastLeadM", mean_lead_days::text as "meanLeadDays", least_lead_days::text as "leastLeadDays"
  from indication_score where drive_id = $1 order by method, method_name`;

/** How indications turned out against what was met. */
@Injectable()
export class OutcomesService {
  constructor(private readonly drives: DriveReader) {}

  indications(drive: string, window: ChainageWindow): Promise<IndicationOutcome[]> {
    return this.within<IndicationOutcome>(drive, window, INDICATIONS);
  }

  encounters(drive: string, window: ChainageWindow): Promise<EncounterOutcome[]> {
    return this.within<EncounterOutcome>(drive, window, ENCOUNTERS);
  }

  async scores(drive: string): Promise<IndicationScore[]> {
    const scores = await this.drives.read<Omit<IndicationScore, 'caution'>>(drive, SCORES);
    return scores.map((score) => ({ ...score, caution: SCORE_CAUTION }));
  }

  private within<T>(drive: string, window: ChainageWindow, sql: string): Promise<T[]> {
    return this.drives.reading(drive, async (id: number, statements: Statements) => {
      const { lowM, highM } = await partOf(statements, id, window);
      return readRows<T>(statements, sql, id, lowM, highM);
    });
  }
}
