import { Injectable } from '@nestjs/common';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import { zoneFaults } from '../zones/zone-faults.js';
import { demandFaults, demandOf, replaceDemand } from './demand-rows.js';
import { datedReads, momentAsked, revisionFaults, governing } from './revisions.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { DesignSection, type DesignSectionInput } from './standard.models.js';

const SECTION = columnsOf(DesignSection, 's', {
  ...datedReads('s', 's.name', '$2'),
  from: { as: 'chainage_at(s.drive_id, s.from_m)' },
  to: { as: 'chainage_at(s.drive_id, s.to_m)' },
  items: { as: demandOf('design_section_item', 's.id') },
});

const SECTIONS = sql`select ${SECTION} from design_section s where s.drive_id = $1 order by s.from_m, s.name, s.valid_from nulls first`;

const OF_NAME = sql`select ${SECTION} from design_section s where s.drive_id = $1 and s.name = $3 order by s.valid_from nulls first`;

/** Revisions of other sections that would govern part of the place on some of the days on which this one would. */
const OVERLAPPED = `with other as (
    select s.*, lead(s.valid_from, 1, 'infinity') over (partition by s.name order by s.valid_from nulls first) as until from design_section s where s.drive_id = $1
  ), own as (
    select min(s.valid_from) as until from design_section s where s.drive_id = $1 and s.name = $2 and s.valid_from > coalesce($5::date, '-infinity')
  )
  select s.name, chainage_at(s.drive_id, s.from_m) as from, chainage_at(s.drive_id, s.to_m) as to
  from other s cross join own
  where s.name <> $2 and s.from_m < $4::numeric and s.to_m > $3::numeric
    and coalesce(s.valid_from, '-infinity') < coalesce(own.until, 'infinity') and s.until > coalesce($5::date, '-infinity') order by s.from_m, s.name`;

const NAMED =
  'select valid_from::text as since from design_section where revision = $1 and drive_id = $2 and name = $3';

const PUT = `insert into design_section (drive_id, name, from_m, to_m, edition, revision, valid_from)
  values ($1, $2, $3::numeric, $4::numeric, $5, $6, $7::date)
  on conflict (drive_id, name, valid_from)
    do update set from_m = excluded.from_m, to_m = excluded.to_m, edition = excluded.edition, revision = excluded.revision returning id`;

const REMOVE = `delete from design_section where drive_id = $1 and name = $2 and ($3::date is null or valid_from = $3::date) returning id`;

/** Lengths of a drive where the designer's own list governs. */
@Injectable()
export class SectionsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<DesignSection[]> {
    return this.drives.read(drive, SECTIONS, momentAsked());
  }

  /** The revision in force, otherwise the first future one. */
  get(drive: string, name: string): Promise<DesignSection> {
    return this.revision(drive, name, governing);
  }

  /** Replaces the revision of that name from the same day as a whole. */
  async put(drive: string, name: string, input: DesignSectionInput): Promise<DesignSection> {
    const { edition, items, revision = null, validFrom = null } = input;
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [place, faults] = placed(input, await driveFrame(transaction, driveId));
      faults.push(...(await revisionFaults(transaction, input, NAMED, driveId, name)));
      faults.push(
        ...(await demandFaults(transaction, items)),
        ...(await zoneFaults(transaction, items, '/items')),
      );
      if (faults.length > 0) throw faulty('invalid', faults);
      await refuseOverlap(transaction, driveId, name, input, place);
      const values = [driveId, name, place.fromM, place.toM, edition, revision, validFrom];
      const [row] = await transaction.$queryRawUnsafe<{ id: number }[]>(PUT, ...values);
      await replaceDemand(transaction, 'design_section_item', row?.id ?? 0, items);
    });
    return this.revision(drive, name, (revisions) =>
      revisions.find((section) => (section.validFrom ?? null) === validFrom),
    );
  }

  /** Removes the section, or one revision of it. */
  async remove(drive: string, name: string, validFrom?: string | null): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const gone = await transaction.$queryRawUnsafe<unknown[]>(REMOVE, driveId, name, validFrom ?? null);
      if (gone.length === 0) throw absent(drive, name, validFrom);
    });
  }

  private async revision(
    drive: string,
    name: string,
    chosen: (revisions: DesignSection[]) => DesignSection | undefined,
  ): Promise<DesignSection> {
    const section = chosen(await this.drives.read(drive, OF_NAME, momentAsked(), name));
    if (!section) throw absent(drive, name);
    return section;
  }
}

const absent = (drive: string, name: string, validFrom?: string | null): Error =>
  notFound(`design section ${name}${validFrom == null ? '' : ` valid from ${validFrom}`} in drive ${drive}`);

interface Place {
  fromM: string;
  toM: string;
}

/** The ends in driven metres, and their faults. */
const placed = ({ from, to }: DesignSectionInput, frame: DriveFrame): [Place, Fault[]] => {
  const [fromMm, toMm] = [frame.drivenMm(from), frame.drivenMm(to)];
  const fault = (pointer: string, value: string, detail?: string): Fault[] =>
    detail ? [{ in: 'body', pointer, value, detail }] : [];
  const faults = [
    ...fault('/from', from, frame.outside(fromMm)),
    ...fault('/to', to, frame.outside(toMm) ?? frame.against(from, to)),
  ];
  return [{ fromM: metresText(fromMm), toM: metresText(toMm) }, faults];
};

/** @throws ProblemError conflict naming each section that the place overlaps */
const refuseOverlap = async (
  statements: Statements,
  driveId: number,
  name: string,
  { from, to, validFrom }: DesignSectionInput,
  { fromM, toM }: Place,
): Promise<void> => {
  const others = await readRows<DesignSection>(
    statements,
    OVERLAPPED,
    driveId,
    name,
    fromM,
    toM,
    validFrom ?? null,
  );
  if (others.length === 0) return;
  throw faulty(
    'overlap',
    others.map((other) => ({
      in: 'body',
      pointer: '/from',
      value: from,
      detail: `${from} to ${to} overlaps design section ${other.name}, ${other.from} to ${other.to}`,
    })),
  );
};
