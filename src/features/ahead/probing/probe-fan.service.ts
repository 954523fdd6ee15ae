import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { momentInWords } from '../../../common/moment-asked.js';
import { type Fan, type FanHole, probeFan } from './probe-fan.js';

/** With more holes the drawing would be unreadable. */
const MOST_HOLES = 200;

const place =
  (): string => `select ${momentInWords('p.time_zone')} as moment, (d.bored_diameter_m / 2)::float8 as "radiusM",
  chainage_text(c.face_chainage_m) as face, c.face_m::float8 as "faceM", chainage_text(c.probed_to_chainage_m) as "probedTo",
  c.probed_to_m::float8 as "probedToM", chainage_text(c.permitted_to_chainage_m) as "permittedTo", c.permitted_to_m::float8 as "permittedToM"
  from probe_cover c join drive d on d.id = c.drive_id join project p on p.id = d.project_id where c.drive_id = $1`;

const HOLES = `select h.name, h.collar_m::float8 as "collarM", r.reach_m::float8 as "reachM", chainage_at(h.drive_id, h.collar_m) as collar,
  chainage_at(h.drive_id, r.reach_m) as reach, h.position_deg::float8 as "positionDeg", r.azimuth_deg::float8 as "azimuthDeg",
  h.look_out_deg::float8 as "lookOutDeg", h.length_m::text as "lengthM", r.state, r.gives_cover as "givesCover"
  from drive_progress f join probe_hole h on h.drive_id = f.drive_id join probe_hole_reading r on r.probe_hole_id = h.id
  where f.drive_id = $1 and r.reach_m > f.face_m order by h.collar_m, h.name limit ${MOST_HOLES}`;

/** A drawing of the probe holes ahead of the face. */
@Injectable()
export class ProbeFanService {
  constructor(private readonly drives: DriveReader) {}

  get(drive: string): Promise<string> {
    return this.drives.reading(drive, async (id, statements) => {
      const [[found], holes, frame] = await Promise.all([
        readRows<Omit<Fan, 'project' | 'drive' | 'holes' | 'chainageAt'>>(statements, place(), id),
        readRows<FanHole>(statements, HOLES, id),
        driveFrame(statements, id),
      ]);
      if (!found) throw notFound(`drive ${drive} in project ${scope().project}`);
      const chainageAt = (drivenM: number): string => frame.chainage(Math.round(drivenM * 1000));
      return probeFan({ ...found, project: scope().project ?? '', drive, holes, chainageAt });
    });
  }
}
