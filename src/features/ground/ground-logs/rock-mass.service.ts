import { Injectable } from '@nestjs/common';
import { faulty } from '../../../common/api/problem.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import { temporaryEsr } from '../../../engineering/q-system.js';
import { chosen } from '../../../engineering/rating-tables/choose.js';
import { ESR } from '../../../engineering/rating-tables/editions.js';
import { GROUND_LOG, LOGS_AT, ROCK_MASS_BY_DRIVE, ROCK_MASS_BY_INTERVAL, USED_AT } from './ground-log-sql.js';
import { absent } from './ground-logs.service.js';
import {
  type RockMassAt,
  type RockMassOfInterval,
  type RockMassShare,
  RULE_OF_LOGS,
} from './rock-mass.models.js';
import { withTableNotes } from './table-notes.js';
import { guideFigures, unanswered } from './support-guide.js';
import { GUIDE_CAUTION, type SupportGuide, type SupportGuideArgs } from './support-guide.models.js';

const DIAMETER = `select bored_diameter_m as "boredDiameterM" from drive where id = $1`;

/** Results from the ground logs: metres by class, and decision support. */
@Injectable()
export class RockMassService {
  constructor(private readonly drives: DriveReader) {}

  byDrive(drive: string): Promise<RockMassShare[]> {
    return this.drives.read(drive, ROCK_MASS_BY_DRIVE);
  }

  byInterval(drive: string, lengthM: number): Promise<JsonRows<RockMassOfInterval>> {
    return this.drives.readByCodes(drive, ROCK_MASS_BY_INTERVAL, String(lengthM));
  }

  /** The rating that counts at a place. @throws ProblemError invalid when it lies outside the drive */
  at(drive: string, chainage: string): Promise<RockMassAt> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const frame = await driveFrame(statements, driveId);
      const mm = frame.drivenMm(chainage);
      const outside = frame.outside(mm);
      if (outside)
        throw faulty('invalid', [{ in: 'query', pointer: '/chainage', value: chainage, detail: outside }]);
      const atM = metresText(mm === frame.lengthMm ? mm - 1 : mm); // the end of the drive belongs to its last metre
      const [found, logs] = await Promise.all([
        readRows(statements, USED_AT, driveId, atM),
        readRows(statements, LOGS_AT, driveId, atM),
      ]);
      const used = found.map(({ log, basis, ...rest }) => ({
        ...rest,
        basis,
        ...(basis === 'not_rated' ? {} : { log }),
      }));
      return {
        chainage: frame.chainage(mm),
        used,
        isUndecided: used.some(({ basis }) => basis === 'undecided'),
        rule: RULE_OF_LOGS,
        logs: logs.map(withTableNotes),
      };
    });
  }

  guide(drive: string, name: string, asked: SupportGuideArgs): Promise<SupportGuide> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const [log] = await readRows(statements, GROUND_LOG, driveId, name);
      if (!log) throw absent(drive, name);
      const [place] = await readRows<{ boredDiameterM: number }>(statements, DIAMETER, driveId);
      const { spanM: given, wallHeightM, esr } = asked;
      const esrType = asked.esrType ?? undefined;
      assertEsrType(esr, esrType);
      const spanM = given ?? place?.boredDiameterM ?? 0;
      const support = asked.support ?? 'permanent';
      const esrCounted = support === 'temporary' ? temporaryEsr(esr) : esr;
      return {
        name,
        spanM,
        spanOf: given == null ? 'the bored diameter of the drive' : 'as given',
        wallHeightM: wallHeightM ?? undefined,
        support,
        esr,
        esrType,
        esrCounted,
        figures: guideFigures(log, {
          spanM,
          wallHeightM: wallHeightM ?? undefined,
          support,
          esr,
          esrType,
          esrCounted,
        }),
        unanswered: unanswered(log),
        caution: GUIDE_CAUTION,
      };
    });
  }
}

/** @throws ProblemError invalid unless the type is in the table of ESR with that ESR */
const assertEsrType = (esr: number, esrType: string | undefined): void => {
  if (esrType === undefined || !ESR) return;
  const choice = chosen(ESR, { row: esrType, value: esr });
  if (!('fault' in choice)) return;
  const isRow = choice.at === 'row';
  const [pointer, value] = isRow ? ['/esrType', esrType] : ['/esr', esr];
  throw faulty('invalid', [{ in: 'query', pointer, value, detail: choice.fault }]);
};
