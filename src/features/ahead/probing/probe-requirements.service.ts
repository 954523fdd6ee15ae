import { Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { revisionFaults } from '../../support/support-standard/revisions.js';
import {
  ProbeRequirementRevision,
  type ProbeRequirements,
  type ProbeRequirementsInput,
} from './probe-requirement.models.js';
import { requirementRows } from './probe-requirement-rows.js';

const REVISIONS_COLUMNS = columnsOf(ProbeRequirementRevision, 'q', {
  isInForce: 'bool_or(f.probe_requirement_id is not null)',
  requirements: {
    as: `json_agg(json_build_object('name', q.name, 'from', chainage_at(q.drive_id, q.from_m), 'to', chainage_at(q.drive_id, q.to_m), 'holeCount', q.hole_count,
    'sectors', (select coalesce(json_agg(json_build_object('fromDeg', q.sector_from_deg[i]::text, 'toDeg', q.sector_to_deg[i]::text) order by i), '[]')
      from generate_subscripts(q.sector_from_deg, 1) i),
    'overlapM', q.overlap_m::text, 'leastLengthM', q.least_length_m::text) order by q.from_m nulls first)`,
  },
});

const REVISIONS = sql`select ${REVISIONS_COLUMNS} from probe_requirement q left join probe_requirement_in_force f on f.probe_requirement_id = q.id
  where q.drive_id = $1 group by q.revision, q.valid_from order by q.valid_from nulls first`;

const NAMED =
  'select valid_from::text as since from probe_requirement where revision = $1 and drive_id = $2 limit 1';

const GIVEN = `select $2::text as revision, $3::date as valid_from, r.* from jsonb_to_recordset($4::jsonb) as r(name text, from_m numeric, to_m numeric, hole_count int,
  sector_from_deg numeric[], sector_to_deg numeric[], overlap_m numeric, least_length_m numeric)`;

const VALUES =
  'revision, valid_from, name, from_m, to_m, hole_count, sector_from_deg, sector_to_deg, overlap_m, least_length_m';

/** Removes rows that the revision no longer has in this form; unchanged rows are left alone. */
const REMOVE_STALE = `delete from probe_requirement where drive_id = $1 and valid_from is not distinct from $3::date
  and not exists (select from (${GIVEN}) g where row(g.*) is not distinct from row(probe_requirement.${VALUES.replaceAll(', ', ', probe_requirement.')}))`;

const ADD_NEW = `insert into probe_requirement (drive_id, ${VALUES}) select $1, g.* from (${GIVEN}) g
  where not exists (select from probe_requirement q where q.drive_id = $1 and q.valid_from is not distinct from $3::date and q.name = g.name)`;

/** Requirements for probing ahead of the face. */
@Injectable()
export class ProbeRequirementsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  /** The revision in force, in the form in which it is put, with the list of all revisions. */
  async get(drive: string): Promise<ProbeRequirements> {
    const revisions = await this.drives.read(drive, REVISIONS);
    const {
      revision,
      validFrom,
      requirements = [],
    } = revisions.find(({ isInForce }) => isInForce) ?? revisions[0] ?? {};
    return { revision, validFrom, requirements, revisions };
  }

  /** Replaces the requirements of the same day. @throws ProblemError invalid with every fault */
  async put(drive: string, input: ProbeRequirementsInput): Promise<ProbeRequirements> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const faults: Fault[] = await revisionFaults(transaction, input, NAMED, id);
      const rows = requirementRows(input.requirements, await driveFrame(transaction, id), faults);
      if (faults.length > 0) throw faulty('invalid', faults);
      const values = [id, input.revision ?? null, input.validFrom ?? null, JSON.stringify(rows)];
      await transaction.$executeRawUnsafe(REMOVE_STALE, ...values);
      await transaction.$executeRawUnsafe(ADD_NEW, ...values);
    });
    return this.get(drive);
  }
}
