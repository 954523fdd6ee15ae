import { Injectable } from '@nestjs/common';
import { type Fault, faulty, notFound } from '../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../common/database/drive-reader.service.js';
import { type DriveFrame, driveFrame } from '../../common/drive-frame.js';
import { metresText } from '../../engineering/chainage.js';
import { demandFaults, demandOf, replaceDemand } from './demand-rows.js';
import type { DesignSection, DesignSectionInput } from './standard.models.js';

const SECTIONS = `select s.name, chainage_at(s.drive_id, s.from_m) as from, chainage_at(s.drive_id, s.to_m) as to, s.edition,
  ${demandOf('design_section_item', 's.id')} as items
  from design_section s where s.drive_id = $1`;

const OVERLAPPED = `select s.name, chainage_at(s.drive_id, s.from_m) as from, chainage_at(s.drive_id, s.to_m) as to
  from design_section s where s.drive_id = $1 and s.name <> $2 and s.from_m < $4::numeric and s.to_m > $3::numeric order by s.from_m`;

/** The lengths of a drive along which the designer's own list rules. */
@Injectable()
export class SectionsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<DesignSection[]> {
    return this.drives.read<DesignSection>(drive, `${SECTIONS} order by s.from_m`);
  }

  async get(drive: string, name: string): Promise<DesignSection> {
    const [section] = await this.drives.read<DesignSection>(drive, `${SECTIONS} and s.name = $2`, name);
    if (!section) throw absent(drive, name);
    return section;
  }

  /** Puts the section in the place of the one that stood under the name, whole. */
  async put(drive: string, name: string, input: DesignSectionInput): Promise<DesignSection> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [place, faults] = placed(input, await driveFrame(transaction, driveId));
      faults.push(...(await demandFaults(transaction, input.items)));
      if (faults.length > 0) throw faulty('invalid', faults);
      await refuseOverlap(transaction, driveId, name, input, place);
      const values = { ...place, edition: input.edition };
      const { id } = await transaction.designSection.upsert({
        where: { driveId_name: { driveId, name } },
        create: { driveId, name, ...values },
        update: values,
        select: { id: true },
      });
      await replaceDemand(transaction, 'design_section_item', id, input.items);
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.designSection.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const absent = (drive: string, name: string): Error => notFound(`design section ${name} in drive ${drive}`);

interface Place {
  fromM: string;
  toM: string;
}

/** The ends in driven metres, and the faults of them. */
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
  { from, to }: DesignSectionInput,
  { fromM, toM }: Place,
): Promise<void> => {
  const others = await readRows<DesignSection>(statements, OVERLAPPED, driveId, name, fromM, toM);
  if (others.length === 0) return;
  throw faulty(
    'conflict',
    others.map((other) => ({
      in: 'body',
      pointer: '/from',
      value: from,
      detail: `${from} to ${to} overlaps design section ${other.name}, ${other.from} to ${other.to}`,
    })),
  );
};
