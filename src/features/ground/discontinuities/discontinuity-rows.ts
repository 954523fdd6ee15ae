import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { poleOf } from '../../../engineering/orientation.js';
import type { NamedDiscontinuityInput } from './discontinuity.models.js';

/** Columns to write, with their types. */
const COLUMNS = {
  name: 'text',
  at_m: 'numeric',
  type: 'discontinuity_type',
  dip_deg: 'numeric',
  dip_direction_deg: 'numeric',
  set_label: 'text',
  spacing_m: 'numeric',
  persistence_m: 'numeric',
  aperture_mm: 'numeric',
  roughness: 'discontinuity_roughness',
  infilling: 'discontinuity_infilling',
  infilling_material: 'text',
  weathering: 'discontinuity_weathering',
  seepage: 'discontinuity_seepage',
  position_deg: 'numeric',
  remark: 'text',
  mapped_by: 'text',
  mapped_at: 'timestamptz',
  pole_east: 'float8',
  pole_north: 'float8',
  pole_down: 'float8',
};

type Column = keyof typeof COLUMNS;
/** What is undefined is left out of the JSON, and null in the record. */
export type DiscontinuityRow = Record<Column, string | number | null | undefined>;

const names = Object.keys(COLUMNS) as Column[];
const listed = (prefix = ''): string => names.map((name) => prefix + name).join(', ');

/** Writes rows given as JSON, $2, to drive $1, replacing rows of the same name. Answers the names of those that changed. */
export const KEEP = `insert into discontinuity as t (drive_id, ${listed()})
  select $1, ${listed('r.')} from jsonb_to_recordset($2::jsonb) as r(${names.map((name) => `${name} ${COLUMNS[name]}`).join(', ')})
  on conflict (drive_id, name) do update set (${listed()}) = (${listed('excluded.')})
    where (${listed('t.')}) is distinct from (${listed('excluded.')})
  returning t.name`;

/**
 * The discontinuities as stored.
 * @param pointerOf  pointer to an entry in the document
 * @throws ProblemError invalid with every fault
 */
export const discontinuityRows = (
  entries: readonly NamedDiscontinuityInput[],
  frame: DriveFrame,
  pointerOf: (index: number) => string,
): DiscontinuityRow[] => {
  const faults: Fault[] = [];
  const first = new Map<string, number>();
  const rows = entries.map((entry, index): DiscontinuityRow => {
    const fault = (field: keyof NamedDiscontinuityInput, detail: string): void => {
      faults.push({ in: 'body', pointer: `${pointerOf(index)}/${field}`, value: entry[field], detail });
    };
    const driven = frame.driven(entry.chainage);
    if ('fault' in driven) fault('chainage', driven.fault);
    if (entry.infilling === 'none' && entry.infillingMaterial != null)
      fault('infillingMaterial', 'an infilling of none has no material');
    const earlier = first.get(entry.name);
    if (earlier === undefined) first.set(entry.name, index);
    else fault('name', `${entry.name} is already listed at ${pointerOf(earlier)}`);
    const [east, north, down] = poleOf({
      dipDeg: Number(entry.dipDeg),
      dipDirectionDeg: Number(entry.dipDirectionDeg),
    });
    return {
      name: entry.name,
      at_m: 'fault' in driven ? undefined : driven.metres,
      type: entry.type,
      dip_deg: entry.dipDeg,
      dip_direction_deg: entry.dipDirectionDeg,
      set_label: entry.set,
      spacing_m: entry.spacingM,
      persistence_m: entry.persistenceM,
      aperture_mm: entry.apertureMm,
      roughness: entry.roughness,
      infilling: entry.infilling,
      infilling_material: entry.infillingMaterial,
      weathering: entry.weathering,
      seepage: entry.seepage,
      position_deg: entry.positionDeg,
      remark: entry.remark,
      mapped_by: entry.mappedBy,
      mapped_at: entry.mappedAt,
      pole_east: east,
      pole_north: north,
      pole_down: down,
    };
  });
  if (faults.length > 0) throw faulty('invalid', faults);
  return rows;
};
