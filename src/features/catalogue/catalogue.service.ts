import { Injectable } from '@nestjs/common';
import { emptied } from '../../common/api/emptied.js';
import { faulty, notFound } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { SupportKind, SupportUnit } from '../../generated/prisma/enums.js';
import { ProjectsService } from '../projects/projects.service.js';
import type {
  ActivityCode,
  ActivityCodeInput,
  CalendarShift,
  CalendarShiftInput,
  GroundClass,
  GroundClassInput,
  SupportItem,
  SupportItemInput,
} from './catalogue.models.js';

const UNITS: Record<SupportKind, SupportUnit[]> = {
  bolt: ['nr'],
  rib: ['nr'],
  mesh: ['m2'],
  sprayed_concrete: ['m2', 'm3'],
};

const OPTIONAL = ['lengthM', 'capacityKn', 'profile', 'massKgPerM', 'massKgPerM2', 'mix'] as const;

const SUPPORT_ITEMS = `select i.code, i.kind, i.unit, i.description, i.length_m::text as "lengthM", i.capacity_kn::text as "capacityKn",
  i.profile, i.mass_kg_per_m::text as "massKgPerM", i.mass_kg_per_m2::text as "massKgPerM2", i.mix
  from support_item i where i.project_id = $1 order by i.code`;

const CALENDAR_SHIFT = { name: true, startTime: true, endTime: true, weekdays: true };
const ACTIVITY_CODE = { code: true, description: true, countsAs: true };
const GROUND_CLASS = { code: true, description: true };

/** What a project's shifts refer to: calendar, activity codes, ground classes, support items. */
@Injectable()
export class CatalogueService {
  constructor(
    private readonly database: Database,
    private readonly projects: ProjectsService,
  ) {}

  async calendarShifts(project: string): Promise<CalendarShift[]> {
    const id = await this.projects.idOf(project);
    return this.database.calendarShift.findMany({
      where: { projectId: id },
      select: CALENDAR_SHIFT,
      orderBy: { name: 'asc' },
    });
  }

  async putCalendarShift(project: string, name: string, input: CalendarShiftInput): Promise<CalendarShift> {
    const projectId = await this.projects.idOf(project);
    const where = { projectId_name: { projectId, name } };
    return this.database.calendarShift.upsert({
      where,
      select: CALENDAR_SHIFT,
      create: { projectId, name, ...input },
      update: input,
    });
  }

  async activityCodes(project: string): Promise<ActivityCode[]> {
    const id = await this.projects.idOf(project);
    return this.database.activityCode.findMany({
      where: { projectId: id },
      select: ACTIVITY_CODE,
      orderBy: { code: 'asc' },
    });
  }

  async putActivityCode(project: string, code: string, input: ActivityCodeInput): Promise<ActivityCode> {
    const projectId = await this.projects.idOf(project);
    const where = { projectId_code: { projectId, code } };
    return this.database.activityCode.upsert({
      where,
      select: ACTIVITY_CODE,
      create: { projectId, code, ...input },
      update: input,
    });
  }

  async groundClasses(project: string): Promise<GroundClass[]> {
    const id = await this.projects.idOf(project);
    return this.database.groundClass.findMany({
      where: { projectId: id },
      select: GROUND_CLASS,
      orderBy: { code: 'asc' },
    });
  }

  async putGroundClass(project: string, code: string, input: GroundClassInput): Promise<GroundClass> {
    const projectId = await this.projects.idOf(project);
    const where = { projectId_code: { projectId, code } };
    return this.database.groundClass.upsert({
      where,
      select: GROUND_CLASS,
      create: { projectId, code, ...input },
      update: input,
    });
  }

  async supportItems(project: string): Promise<SupportItem[]> {
    const id = await this.projects.idOf(project);
    return this.database.read<SupportItem>(SUPPORT_ITEMS, id);
  }

  async putSupportItem(project: string, code: string, input: SupportItemInput): Promise<SupportItem> {
    const projectId = await this.projects.idOf(project);
    const units = UNITS[input.kind];
    if (!units.includes(input.unit)) {
      const detail = `unit ${input.unit} does not fit a ${input.kind}: it is counted in ${units.join(' or ')}`;
      throw faulty('invalid', [{ in: 'body', pointer: '/unit', value: input.unit, detail }]);
    }
    const where = { projectId_code: { projectId, code } };
    const values = emptied(input, OPTIONAL);
    await this.database.supportItem.upsert({
      where,
      create: { projectId, code, ...values },
      update: values,
    });
    const item = (await this.supportItems(project)).find((candidate) => candidate.code === code);
    if (!item) throw notFound(`support item ${code} in project ${project}`);
    return item;
  }
}
