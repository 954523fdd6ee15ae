import { Injectable } from '@nestjs/common';
import { type ChainageWindow, partOf } from '../../../common/api/chainage-window.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { EncounterOutcome, IndicationOutcome, IndicationScore, SCORE_CAUTION } from './outcome.models.js';

const PART = 'drive_id = $1 and (to_m > $2::numeric or from_m >= $2::numeric) and from_m < $3::numeric';

/** Columns of indication_outcome. */
export const INDICATION_OUTCOME_COLUMNS = columnsOf(IndicationOutcome, '', { encounter: 'encounter_name' });

const INDICATIONS = sql`select ${INDICATION_OUTCOME_COLUMNS}
  from indication_outcome where ${PART} order by from_m, investigation, key`;

const ENCOUNTERS = sql`select ${columnsOf(EncounterOutcome, '', { encounter: 'encounter_name' })}
  from encounter_outcome where ${PART} order by from_m, is_from_hole, encounter_name, investigation`;

const SCORES = sql`select ${columnsOf(IndicationScore, '', { caution: false })} from indication_score where drive_id = $1 order by method, method_name`;

/** How indications compare with what was encountered. */
@Injectable()
export class OutcomesService {
  constructor(private readonly drives: DriveReader) {}

  indications(drive: string, window: ChainageWindow): Promise<IndicationOutcome[]> {
    return this.within(drive, window, INDICATIONS);
  }

  encounters(drive: string, window: ChainageWindow): Promise<EncounterOutcome[]> {
    return this.within(drive, window, ENCOUNTERS);
  }

  async scores(drive: string): Promise<IndicationScore[]> {
    const scores = await this.drives.read(drive, SCORES);
    return scores.map((score) => ({ ...score, caution: SCORE_CAUTION }));
  }

  private within<T>(drive: string, window: ChainageWindow, reading: Reading<T>): Promise<T[]> {
    return this.drives.reading(drive, async (id: number, statements: Statements) => {
      const { lowM, highM } = await partOf(statements, id, window);
      return readRows(statements, reading, id, lowM, highM);
    });
  }
}
