import { type Statements, readRows } from '../../../common/database/database.js';
import type { ShiftKey } from './shift-context.js';
import type { ShiftDocument } from './shift-document.model.js';

const DOCUMENT = `select s.digest, json_build_object(
  'state', s.state, 'startsAt', s.starts_at, 'endsAt', s.ends_at, 'crewLead', s.crew_lead, 'remark', s.remark,
  'strokes', (select coalesce(json_agg(json_build_object('number', k.stroke_number, 'borings', k.borings) order by k.stroke_number), '[]') from (
    select b.stroke_number, json_agg(json_build_object('from', chainage_at(b.drive_id, b.from_m), 'to', chainage_at(b.drive_id, b.to_m),
      'startedAt', b.started_at, 'endedAt', b.ended_at, 'thrustKn', as_given(b.thrust_kn), 'torqueKnm', as_given(b.torque_knm), 'rotationRpm', as_given(b.rotation_rpm),
      'penetrationMmPerRev', as_given(b.penetration_mm_per_rev), 'gripperPressureBar', as_given(b.gripper_pressure_bar), 'muckMassT', b.muck_mass_t::text)
      order by b.from_m) as borings from boring b where b.shift_id = s.id group by b.stroke_number) k),
  'activities', (select coalesce(json_agg(json_build_object('startedAt', a.started_at, 'endedAt', a.ended_at, 'code', c.code,
    'responsibleParty', a.responsible_party, 'equipment', q.code, 'remark', a.remark) order by a.started_at), '[]')
    from activity a join activity_code c on c.id = a.activity_code_id left join equipment q on q.id = a.equipment_id where a.shift_id = s.id),
  'support', (select coalesce(json_agg(json_build_object('item', i.code, 'zone', r.zone, 'from', chainage_at(r.drive_id, r.from_m),
    'to', case when r.to_m > r.from_m then chainage_at(r.drive_id, r.to_m) end, 'quantity', r.quantity::text,
    'positions', (select json_agg(chainage_text(chainage_of_driven(d.start_chainage_m, d.direction, m)) order by number) from unnest(r.positions_m) with ordinality as p(m, number)),
    'arcPositionsDeg', r.arc_positions_deg::text[], 'arcFromDeg', r.arc_from_deg::text,
    'arcToDeg', r.arc_to_deg::text, 'thicknessMm', r.thickness_mm::text, 'deliveredVolumeM3', r.delivered_volume_m3::text, 'installedAt', r.installed_at, 'remark', r.remark) order by r.line), '[]')
    from support_installed r join support_item i on i.id = r.support_item_id where r.shift_id = s.id),
  'ground', (select coalesce(json_agg(json_build_object('from', chainage_at(g.drive_id, g.from_m), 'to', chainage_at(g.drive_id, g.to_m),
    'groundClass', k.code, 'lithology', g.lithology, 'remark', g.remark) order by g.from_m), '[]')
    from ground_interval g join ground_class k on k.id = g.ground_class_id where g.shift_id = s.id),
  'confirm', (select json_agg(json_build_object('doubt', f.doubt, 'from', chainage_at(f.drive_id, f.from_m), 'reason', f.reason) order by f.line)
    from shift_confirmation f where f.shift_id = s.id)) as document
  from shift s join drive d on d.id = s.drive_id join project p on p.id = d.project_id join calendar_shift n on n.id = s.calendar_shift_id
  where p.code = $1 and d.code = $2 and s.shift_date = $3::date and n.name = $4`;

/** The current document of a shift, built by one statement; undefined when there is no such shift. */
export const readDocument = async (
  statements: Statements,
  { project, drive, date, shift }: ShiftKey,
): Promise<{ digest: string; document: ShiftDocument } | undefined> => {
  const [found] = await readRows<{ digest: string; document: ShiftDocument }>(
    statements,
    DOCUMENT,
    project,
    drive,
    date,
    shift,
  );
  return found;
};
