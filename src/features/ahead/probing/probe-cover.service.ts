import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { PROBE_CAUTION, type ProbeCover } from './probe-cover.model.js';
import { coverReasons } from './probe-cover-words.js';

/** SQL: sectors as JSON, of those places of the list. */
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

const COVER = `select chainage_text(c.face_chainage_m) as "faceChainage", chainage_text(c.probed_to_chainage_m) as "probedToChainage",
  c.cover_m::text as "coverM", c.hole_count as "holeCount", c.counted_hole_count as "countedHoleCount",
  c.without_position_count as "withoutPositionCount", c.beyond_look_out_limit_count as "beyondLookOutLimitCount", c.look_out_limit_deg::text as "lookOutLimitDeg",
  c.without_time_count as "withoutTimeCount", c.not_yet_drilled_count as "notYetDrilledCount", coalesce(c.has_requirement, false) as "hasRequirement",
  c.requirement_revision as "requirementRevision", c.requirement_valid_from::text as "requirementValidFrom",
  chainage_text(c.permitted_to_chainage_m) as "permittedToChainage", c.permitted_m::text as "permittedM", c.stroke_length_m::text as "strokeLengthM",
  c.permitted_strokes as "permittedStrokes", c.permitted_strokes_m::text as "permittedStrokesM", c.overlap_m::text as "overlapM",
  c.overlap_requirement as "overlapRequirement", case when c.has_end then json_build_object('at', chainage_text(c.probed_to_chainage_m),
    'requirement', c.end_requirement, 'requiredHoles', c.end_required_holes, 'countedHoles', c.end_counted_holes,
    'emptySectors', ${sectors('c.end_empty_sectors')}, 'leastLengthM', c.end_least_length_m::text) end as end,
  c.next_hold_point as "nextHoldPoint", chainage_text(c.next_hold_point_chainage_m) as "nextHoldPointChainage", c.to_next_hold_point_m::text as "toNextHoldPointM",
  c.passed_hold_point_count as "passedHoldPointCount", ${HOLES} as holes
  from probe_cover c where c.drive_id = $1`;

/** How far ahead of the face the ground is probed, and how far the face may go. */
@Injectable()
export class ProbeCoverService {
  constructor(private readonly drives: DriveReader) {}

  get(drive: string): Promise<ProbeCover> {
    return this.drives.reading(drive, async (id, statements) => {
      const [cover] = await readRows<Omit<ProbeCover, 'reasons' | 'caution'>>(statements, COVER, id);
      if (!cover) throw notFound(`drive ${drive} in project ${scope().project}`);
      return { ...cover, reasons: coverReasons(cover), caution: PROBE_CAUTION };
    });
  }
}
