import { Injectable } from '@nestjs/common';
import { absentAsNull } from '../../../common/api/absent-as-null.js';
import { notFound } from '../../../common/api/problem.js';
import { refusedAt } from '../../../common/api/refused-at.js';
import { Database } from '../../../common/database/database.js';
import { type Removable, removeUnused } from '../../../common/database/removal.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import {
  ActivityCode,
  type ActivityCodeInput,
  Equipment,
  type EquipmentInput,
  GroundClass,
  type GroundClassInput,
} from './catalogue.models.js';
import { TimeClass } from '../../../generated/prisma/enums.js';
import { SupportItem, type SupportItemInput } from './support-item.model.js';
import { assertSupportItem, OPTIONAL } from './support-item-rules.js';
import { refusalOfItem } from './unit-fixed.js';

/** Time classes that count as not planned unless a code says otherwise. */
const UNPLANNED: TimeClass[] = [TimeClass.breakdown, TimeClass.ground, TimeClass.waiting];

const ACTIVITY_CODES_COLUMNS = columnsOf(ActivityCode, '', {
  planned: `coalesce(planned, counts_as not in (${UNPLANNED.map((each) => `'${each}'`).join(', ')}))`,
});

const EQUIPMENT_COLUMNS = columnsOf(Equipment, '', { inUseDuring: 'in_use_during::text[]' });
const GROUND_CLASS_COLUMNS = columnsOf(GroundClass, '');
const SUPPORT_ITEM_COLUMNS = columnsOf(SupportItem, '');

const ACTIVITY_CODES = sql`select ${ACTIVITY_CODES_COLUMNS} from activity_code order by code`;
const ACTIVITY_CODE = sql`select ${ACTIVITY_CODES_COLUMNS} from activity_code where code = $1`;
const EQUIPMENT = sql`select ${EQUIPMENT_COLUMNS} from equipment order by code`;
const PIECE_OF_EQUIPMENT = sql`select ${EQUIPMENT_COLUMNS} from equipment where code = $1`;
const GROUND_CLASSES = sql`select ${GROUND_CLASS_COLUMNS} from ground_class order by code`;
const GROUND_CLASS = sql`select ${GROUND_CLASS_COLUMNS} from ground_class where code = $1`;
const SUPPORT_ITEMS = sql`select ${SUPPORT_ITEM_COLUMNS} from support_item order by code`;
const SUPPORT_ITEM = sql`select ${SUPPORT_ITEM_COLUMNS} from support_item where code = $1`;

/** Lists of a project to which shifts refer, beside the calendar: activity codes, equipment, ground classes, support items. */
@Injectable()
export class CatalogueService {
  constructor(private readonly database: Database) {}

  activityCodes(): Promise<ActivityCode[]> {
    return this.database.read(ACTIVITY_CODES);
  }

  activityCode(code: string): Promise<ActivityCode> {
    return this.one(ACTIVITY_CODE, code, 'activity code');
  }

  async putActivityCode(code: string, input: ActivityCodeInput): Promise<ActivityCode> {
    const { projectId } = scope();
    const isUsual = input.planned === !UNPLANNED.includes(input.countsAs);
    const values = { ...input, planned: isUsual ? null : (input.planned ?? null) };
    await refusedAt('locked', { countsAs: input.countsAs }, () =>
      this.database.ofProject((transaction) =>
        transaction.activityCode.upsert({
          where: { projectId_code: { projectId, code } },
          create: { projectId, code, ...values },
          update: values,
        }),
      ),
    );
    return this.activityCode(code);
  }

  equipment(): Promise<Equipment[]> {
    return this.database.read(EQUIPMENT);
  }

  pieceOfEquipment(code: string): Promise<Equipment> {
    return this.one(PIECE_OF_EQUIPMENT, code, 'equipment');
  }

  async putEquipment(code: string, input: EquipmentInput): Promise<Equipment> {
    const { projectId } = scope();
    const values = { ...input, inUseDuring: input.inUseDuring ?? [TimeClass.boring] };
    await this.database.ofProject((transaction) =>
      transaction.equipment.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
      }),
    );
    return this.pieceOfEquipment(code);
  }

  groundClasses(): Promise<GroundClass[]> {
    return this.database.read(GROUND_CLASSES);
  }

  groundClass(code: string): Promise<GroundClass> {
    return this.one(GROUND_CLASS, code, 'ground class');
  }

  async putGroundClass(code: string, input: GroundClassInput): Promise<GroundClass> {
    const { projectId } = scope();
    const values = absentAsNull(input, ['densityTPerM3', 'swellPercent']);
    await this.database.ofProject((transaction) =>
      transaction.groundClass.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
      }),
    );
    return this.groundClass(code);
  }

  supportItems(): Promise<SupportItem[]> {
    return this.database.read(SUPPORT_ITEMS);
  }

  supportItem(code: string): Promise<SupportItem> {
    return this.one(SUPPORT_ITEM, code, 'support item');
  }

  async putSupportItem(code: string, input: SupportItemInput): Promise<SupportItem> {
    const { projectId } = scope();
    assertSupportItem(input);
    const values = absentAsNull(input, OPTIONAL);
    try {
      await this.database.ofProject((transaction) =>
        transaction.supportItem.upsert({
          where: { projectId_code: { projectId, code } },
          create: { projectId, code, ...values },
          update: values,
        }),
      );
    } catch (error) {
      throw await refusalOfItem(this.database, code, input.unit, error);
    }
    return this.supportItem(code);
  }

  removeActivityCode(code: string): Promise<void> {
    return this.remove('activity_code', `activity code ${code}`, code);
  }

  removeEquipment(code: string): Promise<void> {
    return this.remove('equipment', `equipment ${code}`, code);
  }

  removeGroundClass(code: string): Promise<void> {
    return this.remove('ground_class', `ground class ${code}`, code);
  }

  removeSupportItem(code: string): Promise<void> {
    return this.remove('support_item', `support item ${code}`, code);
  }

  /** @throws ProblemError not_found */
  private async one<Row>(reading: Reading<Row>, code: string, kind: string): Promise<Row> {
    const [found] = await this.database.read(reading, code);
    if (!found) throw notFound(`${kind} ${code}`);
    return found;
  }

  private remove(table: Removable, what: string, code: string): Promise<void> {
    return this.database.atomic((transaction) => removeUnused(transaction, table, what, 'code = $1', code));
  }
}
