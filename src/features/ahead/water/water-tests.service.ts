import { Injectable } from '@nestjs/common';
import { afterMoment, cursorBy } from '../../../common/api/cursor.js';
import { keyedPage, USUAL_PAGE } from '../../../common/api/paging.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, objectOf, sql } from '../../../common/database/reading.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { drivenPlace, type Note } from '../../../common/drive-interval.js';
import { metresText } from '../../../engineering/chainage.js';
import type { TimedPageArgs } from './inflow.models.js';
import { netBarOf, type WaterTestReading, waterTestValues } from './water-test-values.service.js';
import {
  WATER_TEST_CAUTION,
  WaterTest,
  WaterTestStep,
  type WaterTestInput,
  type WaterTestPage,
} from './water-tests.models.js';

/** Columns of water_test t. */
export const WATER_TEST_COLUMNS = columnsOf(WaterTest, '', {
  steps: {
    as: `(select json_agg(${objectOf(columnsOf(WaterTestStep, 's'))} order by s.number)
    from water_test_step s where s.water_test_id = t.water_test_id)`,
  },
  caution: false,
});

const ONE = sql`select ${WATER_TEST_COLUMNS} from water_test t where drive_id = $1 and name = $2`;

const PAGE = sql`select ${WATER_TEST_COLUMNS}, ${cursorBy({ moment: 'tested_at' }, 'name')}
  from water_test t where drive_id = $1 and (tested_at, name) > ($2::timestamptz, $3) order by tested_at, name limit $4`;

/** Unchanged steps keep their rows, so that the history shows no change where nothing differs. */
const CLEAR = 'delete from lugeon_step where lugeon_test_id = $1 and number > $2';

const FILL = `insert into lugeon_step (lugeon_test_id, number, gauge_bar, friction_bar, flow_l_per_min, duration_min, net_bar, lugeon)
  select $1, g.number, g."gaugeBar", g."frictionBar", g."flowLPerMin", g."durationMin", g."netBar", g.lugeon
  from jsonb_to_recordset($2::jsonb) as g(number int, "gaugeBar" numeric, "frictionBar" numeric, "flowLPerMin" numeric, "durationMin" numeric,
    "netBar" numeric, lugeon numeric)
  on conflict (lugeon_test_id, number) do update set gauge_bar = excluded.gauge_bar, friction_bar = excluded.friction_bar,
    flow_l_per_min = excluded.flow_l_per_min, duration_min = excluded.duration_min, net_bar = excluded.net_bar, lugeon = excluded.lugeon`;

/** Water tests in holes, and the values derived from them. */
@Injectable()
export class WaterTestsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  page(drive: string, { first, after }: TimedPageArgs): Promise<WaterTestPage> {
    const size = first ?? USUAL_PAGE;
    return this.drives.reading(drive, async (id, statements) => {
      const { at, name } = afterMoment(after);
      const rows = await readRows(statements, PAGE, id, at, name, size + 1);
      return keyedPage(rows.map(withCaution), size);
    });
  }

  async get(drive: string, name: string): Promise<WaterTest> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return withCaution(found);
  }

  /** Replaces the test of that name, with its steps. */
  async put(drive: string, name: string, input: WaterTestInput): Promise<WaterTest> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { steps, ...test } = rowsOf(input, await driveFrame(transaction, driveId));
      const { id } = await transaction.lugeonTest.upsert({
        where: { driveId_name: { driveId, name } },
        create: { driveId, name, ...test },
        update: test,
      });
      await transaction.$executeRawUnsafe(CLEAR, id, steps.length);
      await transaction.$executeRawUnsafe(FILL, id, JSON.stringify(steps));
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.lugeonTest.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const withCaution = <T extends Omit<WaterTest, 'caution'>>(test: T): T & Pick<WaterTest, 'caution'> => ({
  ...test,
  caution: WATER_TEST_CAUTION,
});

const absent = (drive: string, name: string): Error => notFound(`water test ${name} in drive ${drive}`);

/** The test and its steps as stored. @throws ProblemError invalid with every fault of its section and pressures */
const rowsOf = (input: WaterTestInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const note: Note = (pointer, value, detail) => {
    faults.push({ in: 'body', pointer, value, detail });
  };
  const { fromDepthM, toDepthM, holeDiameterMm = null, staticBar, groundwaterBar } = input;
  const collarMm = input.collar == null ? null : drivenPlace(input.collar, '/collar', frame, note);
  const sectionM = Number((Number(toDepthM) - Number(fromDepthM)).toFixed(3));
  if (sectionM <= 0)
    note('/toDepthM', toDepthM, `toDepthM ${toDepthM} does not lie below fromDepthM ${fromDepthM}`);
  else if (holeDiameterMm != null && Number(holeDiameterMm) >= sectionM * 1000)
    note(
      '/holeDiameterMm',
      holeDiameterMm,
      `holeDiameterMm ${holeDiameterMm} is not less than the length of the section, ${sectionM} m`,
    );
  if (input.steps.length === 0) note('/steps', input.steps, 'a test needs at least one step');
  const reading: WaterTestReading = {
    sectionM,
    holeDiameterMm: holeDiameterMm == null ? null : Number(holeDiameterMm),
    staticBar: Number(staticBar ?? 0),
    groundwaterBar: Number(groundwaterBar ?? 0),
    steps: input.steps.map(({ gaugeBar, frictionBar, flowLPerMin }) => ({
      gaugeBar: Number(gaugeBar),
      frictionBar: Number(frictionBar ?? 0),
      flowLPerMin: Number(flowLPerMin),
    })),
  };
  for (const [index, step] of reading.steps.entries()) {
    const netBar = netBarOf(reading, step);
    if (netBar > 0) continue;
    const sum = `${step.gaugeBar} + ${reading.staticBar} − ${step.frictionBar} − ${reading.groundwaterBar}`;
    note(
      `/steps/${index}/gaugeBar`,
      input.steps[index]?.gaugeBar,
      `the pressure at the section, gauge + static column − friction − groundwater = ${sum} = ${netBar} bar, must be above 0`,
    );
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  const { steps: values, ...computed } = waterTestValues(reading);
  return {
    hole: input.hole,
    collarM: collarMm === null ? null : metresText(collarMm),
    fromDepthM,
    toDepthM,
    holeDiameterMm,
    staticBar: staticBar ?? '0',
    groundwaterBar: groundwaterBar ?? '0',
    testedAt: input.testedAt,
    testedBy: input.testedBy ?? null,
    remark: input.remark ?? null,
    ...computed,
    steps: input.steps.map(({ gaugeBar, frictionBar, flowLPerMin, durationMin }, index) => ({
      number: index + 1,
      gaugeBar,
      frictionBar: frictionBar ?? '0',
      flowLPerMin,
      durationMin,
      netBar: values[index]?.netBar ?? '0',
      lugeon: values[index]?.lugeon ?? '0',
    })),
  };
};
