import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { PROBE_CAUTION, ProbeCover } from './probe-cover.model.js';
import { coverReasons } from './probe-cover-words.js';

/** SQL: the sectors at some indices of the list, as JSON. */
const sectors = (
  places: string,
): string => `(select coalesce(json_agg(json_build_object('fromDeg', c.end_sector_from_deg[i]::text,
    'toDeg', c.end_sector_to_deg[i]::text) order by i), '[]') from unnest(${places}) i)`;

/** The holes at the end of that cover, as JSON. */
const HOLES = `(select coalesce(json_agg(json_build_object('name', h.name, 'collar', chainage_at(c.drive_id, h.collar_m), 'reach', chainage_at(c.drive_id, h.reach_m),
    'state', h.state, 'counts', h.reasons = '{}', 'reasons', h.reasons, 'sectors', ${sectors('h.sectors')}) order by h.collar_m, h.name), '[]')
  from (
    select a.* from probe_cover_hole_of(c.drive_id, c.face_m, c.probed_to_m, c.end_least_length_m, c.end_sector_from_deg, c.end_sector_to_deg) a
    order by a.collar_m, a.name limit 1000
  ) h)`;

const COVER_COLUMNS = columnsOf(ProbeCover, 'c', {
  hasRequirement: 'coalesce(c.has_requirement, false)',
  end: {
    as: `case when c.has_end then json_build_object('at', chainage_text(c.probed_to_chainage_m),
    'requirement', c.end_requirement, 'requiredHoles', c.end_required_holes, 'countedHoles', c.end_counted_holes,
    'emptySectors', ${sectors('c.end_empty_sectors')}, 'leastLengthM', c.end_least_length_m::text) end`,
  },
  holes: { as: `${HOLES}` },
  reasons: false,
  caution: false,
});

const COVER = sql`select ${COVER_COLUMNS} from probe_cover c where c.drive_id = $1`;

/** How far ahead of the face the ground is probed, and how far the face may advance. */
@Injectable()
export class ProbeCoverService {
  constructor(private readonly drives: DriveReader) {}

  get(drive: string): Promise<ProbeCover> {
    return this.drives.reading(drive, async (id, statements) => {
      const [cover] = await readRows(statements, COVER, id);
      if (!cover) throw notFound(`drive ${drive} in project ${scope().project}`);
      return { ...cover, reasons: coverReasons(cover), caution: PROBE_CAUTION };
    });
  }
}
