import { Inject, Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { metresText, parseChainage } from '../../../engineering/chainage.js';
import {
  JudgementKeeper,
  type OverJudgement,
} from '../../support/missing-support/judgement-keeper.service.js';
import { AS_BUILT_CAUTION, type AsBuilt, type ChainageRange } from './as-built.models.js';
import { type AsBuiltShifts, readRegisters } from './as-built-registers.js';
import type { OpenItem } from './open-item.model.js';
import { openItemsOfDrive } from './open-items.js';

const COMMON = `chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, shift_date as date, shift_name as shift`;

const AS_BUILT = `with entry as (select * from as_built($1, $2, $3::numeric, $4::numeric))
  select
    (select coalesce(json_agg(t order by t.number), '[]') from (select reference::int as number, ${COMMON}, coalesce(shifts, '[]') as shifts,
      quantity::text as "withinM", started_at as "startedAt", ended_at as "endedAt", torque_ratio as "torqueRatio", regular_advance as "regularAdvance",
      exists (select from machine_sample m where m.drive_id = $5 and m.at >= entry.started_at and m.at < entry.ended_at) as "isSampled"
      from entry where record = 'stroke') t) as strokes,
    (select coalesce(json_agg(t), '[]') from (select reference as "groundClass", description as lithology, ${COMMON},
      quantity::text as "withinM", remark from entry where record = 'ground' order by from_m) t) as ground,
    (select coalesce(json_agg(t), '[]') from (select reference as item, description, ${COMMON}, zone, quantity::text as "quantityWithin", unit,
      arc_from_deg::text as "arcFromDeg", arc_to_deg::text as "arcToDeg", thickness_mm::text as "thicknessMm", started_at as "installedAt", remark
      from entry where record = 'support' order by from_m, reference) t) as support`;

@Injectable()
export class RecordService {
  constructor(
    private readonly drives: DriveReader,
    @Inject(JudgementKeeper) private readonly keeper: { over: OverJudgement },
  ) {}

  openItems(drive: string): Promise<OpenItem[]> {
    return this.drives.reading(drive, (id, statements) => openItemsOfDrive(statements, id));
  }

  asBuilt(drive: string, range: ChainageRange): Promise<AsBuilt> {
    return this.drives.reading(drive, (id, statements) =>
      readAsBuilt(statements, this.keeper, id, drive, range),
    );
  }
}

const readAsBuilt = async (
  statements: Statements,
  keeper: { over: OverJudgement },
  driveId: number,
  drive: string,
  range: ChainageRange,
): Promise<AsBuilt> => {
  const frame = await driveFrame(statements, driveId);
  const [low, high] = [frame.drivenMm(range.from), frame.drivenMm(range.to)].sort((a, b) => a - b) as [
    number,
    number,
  ];
  const faults = (['from', 'to'] as const).flatMap((name): Fault[] => {
    const fault = frame.outside(frame.drivenMm(range[name]));
    return fault ? [{ in: 'query', pointer: `/${name}`, value: range[name], detail: fault }] : [];
  });
  if (low === high)
    faults.push({ in: 'query', pointer: '/to', value: range.to, detail: 'from and to are the same place' });
  if (faults.length > 0) throw faulty('invalid', faults);
  const ends = { from: frame.chainage(low), to: frame.chainage(high) };
  const metres = { from: metresText(parseChainage(ends.from)), to: metresText(parseChainage(ends.to)) };
  const reported = readRows<AsBuiltShifts>(
    statements,
    AS_BUILT,
    scope().project,
    drive,
    metres.from,
    metres.to,
    driveId,
  ).then(([entries]) => entries ?? { strokes: [], ground: [], support: [] });
  // records at the very end of the drive belong to the interval that ends there
  const place = { lowM: metresText(low), highM: metresText(high === frame.lengthMm ? high + 1 : high) };
  return {
    ...ends,
    ...(await readRegisters(statements, keeper, { driveId, drive, ...metres, ...place }, reported)),
    caution: AS_BUILT_CAUTION,
  };
};
