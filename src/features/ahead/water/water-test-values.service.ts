import { Injectable } from '@nestjs/common';
import { Database, readRows } from '../../../common/database/database.js';
import {
  flowOfLugeon,
  flowPattern,
  type FlowPattern,
  lugeon,
  lugeonClass,
  type LugeonClass,
  moyeConductivity,
  netPressure,
  representativeLugeon,
  thiemConductivity,
} from '../../../engineering/water-test.js';

/** The readings of a test. */
export interface WaterTestReading {
  sectionM: number;
  holeDiameterMm: number | null;
  staticBar: number;
  groundwaterBar: number;
  steps: { gaugeBar: number; frictionBar: number; flowLPerMin: number }[];
}

/** The values computed from them. */
export interface WaterTestValues {
  flowPattern: FlowPattern | null;
  representativeLu: string;
  lugeonClass: LugeonClass;
  moyeMPerS: number | null;
  thiemMPerS: number | null;
  steps: { netBar: string; lugeon: string }[];
}

/** Pressure at the section, to 0.001. [bar] */
export const netBarOf = (
  { staticBar, groundwaterBar }: Pick<WaterTestReading, 'staticBar' | 'groundwaterBar'>,
  { gaugeBar, frictionBar }: Pick<WaterTestReading['steps'][number], 'gaugeBar' | 'frictionBar'>,
): number => Number(netPressure(gaugeBar, staticBar, frictionBar, groundwaterBar).toFixed(3));

export const waterTestValues = (test: WaterTestReading): WaterTestValues => {
  const netBar = test.steps.map((step) => netBarOf(test, step));
  const lugeons = test.steps.map((step, index) =>
    lugeon(step.flowLPerMin, test.sectionM, netBar[index] ?? 0),
  );
  const pattern = flowPattern(lugeons, netBar);
  const representative = representativeLugeon(lugeons, pattern);
  const { flowM3PerS, headM } = flowOfLugeon(representative, test.sectionM);
  const diameterM = test.holeDiameterMm === null ? null : test.holeDiameterMm / 1000;
  const by = (formula: typeof moyeConductivity): number | null =>
    diameterM === null ? null : Number(formula(flowM3PerS, test.sectionM, diameterM, headM).toPrecision(12));
  return {
    flowPattern: pattern ?? null,
    representativeLu: representative.toFixed(3),
    lugeonClass: lugeonClass(Number(representative.toFixed(3))),
    moyeMPerS: by(moyeConductivity),
    thiemMPerS: by(thiemConductivity),
    steps: lugeons.map((value, index) => ({
      netBar: (netBar[index] ?? 0).toFixed(3),
      lugeon: value.toFixed(3),
    })),
  };
};

const READINGS = `select t.id, (t.to_depth_m - t.from_depth_m)::float8 as "sectionM", t.hole_diameter_mm::float8 as "holeDiameterMm", t.static_bar::float8 as "staticBar",
  t.groundwater_bar::float8 as "groundwaterBar", (select json_agg(json_build_object('gaugeBar', s.gauge_bar::float8, 'frictionBar', s.friction_bar::float8,
    'flowLPerMin', s.flow_l_per_min::float8) order by s.number) from lugeon_step s where s.lugeon_test_id = t.id) as steps
  from lugeon_test t order by t.id for no key update`;

const STORE_STEPS = `with given as (
    select v.id, n.number, (n.step->>'netBar')::numeric as net_bar, (n.step->>'lugeon')::numeric as lugeon
    from jsonb_to_recordset($1::jsonb) as v(id int, steps jsonb) cross join lateral jsonb_array_elements(v.steps) with ordinality n(step, number)
  )
  update lugeon_step s set net_bar = g.net_bar, lugeon = g.lugeon from given g
  where s.lugeon_test_id = g.id and s.number = g.number and (s.net_bar, s.lugeon) is distinct from (g.net_bar, g.lugeon) returning s.lugeon_test_id as id`;

const STORE = `update lugeon_test t set flow_pattern = v."flowPattern", representative_lu = v."representativeLu", lugeon_class = v."lugeonClass",
    moye_m_per_s = v."moyeMPerS", thiem_m_per_s = v."thiemMPerS"
  from jsonb_to_recordset($1::jsonb) as v(id int, "flowPattern" flow_pattern, "representativeLu" numeric, "lugeonClass" lugeon_class, "moyeMPerS" float8, "thiemMPerS" float8)
  where t.id = v.id and (t.flow_pattern, t.representative_lu, t.lugeon_class, t.moye_m_per_s, t.thiem_m_per_s)
    is distinct from (v."flowPattern", v."representativeLu", v."lugeonClass", v."moyeMPerS", v."thiemMPerS") returning t.id`;

/** Keeps the values stored with water tests consistent with their readings. */
@Injectable()
export class WaterTestValuesService {
  constructor(private readonly database: Database) {}

  /** Recomputes the values of all water tests of the project in scope. @returns how many tests changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const tests = await readRows<WaterTestReading & { id: number }>(transaction, READINGS);
      if (tests.length === 0) return 0;
      const values = JSON.stringify(tests.map(({ id, ...test }) => ({ id, ...waterTestValues(test) })));
      const changed = new Set<number>();
      for (const store of [STORE_STEPS, STORE])
        for (const { id } of await transaction.$queryRawUnsafe<{ id: number }[]>(store, values))
          changed.add(id);
      return changed.size;
    });
  }
}
