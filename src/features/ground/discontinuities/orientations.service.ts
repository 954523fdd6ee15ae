import { Injectable } from '@nestjs/common';
import { type ChainageWindow, windowOf } from '../../../common/api/chainage-window.js';
import { faulty } from '../../../common/api/problem.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import {
  ORIENTATION_CAUTION,
  type DiscontinuitySets,
  type StereonetQuery,
} from './discontinuity-set.models.js';
import { readSets } from './read-sets.js';
import { momentInWords } from '../../../common/moment-asked.js';
import { type NetPole, stereonet } from './stereonet.js';

/** With more poles the net would be unreadable, and too large to send. */
const MOST_POLES = 5000;

const POLES = `select name, chainage_text(chainage_m) as chainage, dip_deg::float8 as "dipDeg", dip_direction_deg::float8 as "dipDirectionDeg",
  set_label as set, remark, pole_east as east, pole_north as north, pole_down as down
  from discontinuity_row where drive_id = $1 and at_m >= $2::numeric and at_m < $3::numeric order by at_m, name limit ${MOST_POLES + 1}`;

const MOMENT = (): string =>
  `select ${momentInWords('p.time_zone')} as moment from project p where p.id = scope_project()`;

/** Sets and orientations of the discontinuities in a part of a drive. */
@Injectable()
export class OrientationsService {
  constructor(private readonly drives: DriveReader) {}

  sets(drive: string, asked: ChainageWindow): Promise<DiscontinuitySets> {
    return this.drives.reading(drive, async (id, statements) => {
      const window = await windowOf(statements, id, asked);
      const sets = (await readSets(statements, drive, window)).map(({ figures }) => figures);
      return { from: window.from, to: window.to, sets, caution: ORIENTATION_CAUTION };
    });
  }

  /** The net as SVG. @throws ProblemError invalid when it would have too many poles to tell apart */
  stereonet(drive: string, { axisDeg, ...asked }: StereonetQuery): Promise<string> {
    return this.drives.reading(drive, async (id, statements) => {
      const window = await windowOf(statements, id, asked);
      const poles = await readRows<NetPole>(statements, POLES, id, window.lowM, window.highM);
      if (poles.length > MOST_POLES) {
        const detail = `from ${window.from} to ${window.to} there are more than ${MOST_POLES} discontinuities: ask for a shorter part`;
        throw faulty('invalid', [{ in: 'query', pointer: '/to', value: window.to, detail }]);
      }
      const [sets, [read]] = await Promise.all([
        readSets(statements, drive, window),
        readRows<{ moment: string }>(statements, MOMENT()),
      ]);
      const moment = read?.moment ?? '';
      return stereonet({ project: scope().project, drive, window, moment, poles, sets, axisDeg });
    });
  }
}
