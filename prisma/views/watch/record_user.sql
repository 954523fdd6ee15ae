-- What still uses a row of the record, one row per user, by kind and name, at most four per kind. p_table: activity_code, equipment, ground_class,
-- support_item, calendar_shift, machine, drive or bill; p_id: its id. kind: in words; name: as people know it, including the drive where there is one.
create or replace function record_user(p_table text, p_id int) returns table (kind text, name text) language sql stable begin atomic
  with used as (
    select (select t.code from activity_code t where t.id = p_id and p_table = 'activity_code') as activity_code,
      (select t.code from ground_class t where t.id = p_id and p_table = 'ground_class') as ground_class,
      (select t.code from support_item t where t.id = p_id and p_table = 'support_item') as support_item
  ), rule as (
    select i.bill_id, i.id from measurement_rule m join pay_item i on i.id = m.pay_item_id, used u
    where m.activities @> array[u.activity_code] or m.classes @> array[u.ground_class] or m.items @> array[u.support_item]
  ), found (kind, rank, name) as (
    (select 'shift', 1, d.code || ' ' || s.shift_date || ' ' || n.name from shift s join drive d on d.id = s.drive_id
        join calendar_shift n on n.id = s.calendar_shift_id
      where (p_table = 'calendar_shift' and s.calendar_shift_id = p_id) or (p_table = 'drive' and s.drive_id = p_id)
        or (p_table = 'activity_code' and exists (select from activity a where a.shift_id = s.id and a.activity_code_id = p_id))
        or (p_table = 'equipment' and exists (select from activity a where a.shift_id = s.id and a.equipment_id = p_id))
        or (p_table = 'ground_class' and exists (select from ground_interval g where g.shift_id = s.id and g.ground_class_id = p_id))
        or (p_table = 'support_item' and exists (select from support_installed i where i.shift_id = s.id and i.support_item_id = p_id))
      order by s.starts_at limit 4)
    union all
    (select 'stroke without a shift', 2, d.code || ' ' || b.stroke_number from boring b join drive d on d.id = b.drive_id
      where p_table = 'drive' and b.drive_id = p_id and b.shift_id is null order by b.from_m limit 4)
    union all
    (select 'class decision', 3, d.code || ' ' || c.number from class_decision c join drive d on d.id = c.drive_id
      where (p_table = 'ground_class' and c.ground_class_id = p_id) or (p_table = 'drive' and c.drive_id = p_id) order by c.number limit 4)
    union all
    (select 'baseline', 4, d.code || ' ' || b.name from baseline b join drive d on d.id = b.drive_id
      where (p_table = 'drive' and b.drive_id = p_id)
        or (p_table = 'ground_class' and exists (select from baseline_interval i where i.baseline_id = b.id and i.ground_class_id = p_id))
      order by b.name limit 4)
    union all
    (select 'entitlement', 5, d.code || ' ' || e.name from entitlement e join drive d on d.id = e.drive_id
      where (p_table = 'drive' and e.drive_id = p_id) or exists (select from entitlement_item i, used u where i.entitlement_id = e.id and (
        (i.source = 'activity_hours' and i.reference = u.activity_code) or (i.source = 'class_metres' and i.reference = u.ground_class)
        or (i.source = 'support_item' and i.reference = u.support_item)))
      order by e.name limit 4)
    union all
    (select 'standard support of class', 6, c.code || coalesce(' from ' || s.valid_from, '') from standard_support s join ground_class c
      on c.id = s.ground_class_id
      where (p_table = 'ground_class' and s.ground_class_id = p_id)
        or (p_table = 'support_item' and exists (select from standard_support_item i where i.standard_support_id = s.id and i.support_item_id = p_id))
      order by c.code, s.valid_from limit 4)
    union all
    (select 'design section', 7, d.code || ' ' || s.name from design_section s join drive d on d.id = s.drive_id
      where (p_table = 'drive' and s.drive_id = p_id)
        or (p_table = 'support_item' and exists (select from design_section_item i where i.design_section_id = s.id and i.support_item_id = p_id))
      order by s.name limit 4)
    union all
    (select 'limits of doubt', 8, 'from ' || l.valid_from from doubt_limit l
      where p_table = 'support_item' and exists (select from doubt_limit_item i where i.doubt_limit_id = l.id and i.support_item_id = p_id)
      order by l.valid_from limit 4)
    union all
    (select 'measurement rule', 9, d.code || ' ' || b.version || ' ' || i.reference from rule r join pay_item i on i.id = r.id
      join bill b on b.id = i.bill_id join drive d on d.id = b.drive_id order by 3 limit 4)
    union all
    (select distinct 'valuation', 10, d.code || ' ' || v.number from certified_line l join pay_item i on i.id = l.pay_item_id
        join valuation v on v.id = l.valuation_id join drive d on d.id = v.drive_id
      where p_table = 'bill' and i.bill_id = p_id order by 3 limit 4)
    union all
    (select 'drive', 10, d.code from drive d where p_table = 'machine' and d.machine_id = p_id order by d.code limit 4)
    union all
    (select r.kind, 11, d.code || ' ' || r.name from drive d
      cross join lateral (
        (select 'probe hole', h.name from probe_hole h where h.drive_id = d.id order by h.name limit 4)
        union all (select 'measurement of inflow', m.name from inflow_measurement m where m.drive_id = d.id order by m.name limit 4)
        union all (select 'water limits', 'from ' || l.valid_from from water_limit l where l.drive_id = d.id order by l.valid_from limit 4)
        union all (select 'hold point', h.code from hold_point h where h.drive_id = d.id order by h.code limit 4)
        union all (select 'alert rule', a.code from alert_rule a where a.drive_id = d.id order by a.code limit 4)
        union all (select 'alert', a.number::text from alert a where a.drive_id = d.id order by a.number limit 4)
        union all (select 'probe requirement', q.name from probe_requirement q where q.drive_id = d.id order by q.name limit 4)
        union all (select 'water test', t.name from lugeon_test t where t.drive_id = d.id order by t.name limit 4)
        union all (select 'grouting round', o.name from grout_round o where o.drive_id = d.id order by o.name limit 4)
        union all (select 'ground log', g.name from ground_log_sheet g where g.drive_id = d.id order by g.name limit 4)
        union all (select 'discontinuity', x.name from discontinuity x where x.drive_id = d.id order by x.name limit 4)
        union all (select 'overbreak', o.name from overbreak_item o where o.drive_id = d.id order by o.name limit 4)
        union all (select 'investigation', v.name from investigation v where v.drive_id = d.id order by v.name limit 4)
        union all (select 'encounter', e.name from encounter e where e.drive_id = d.id order by e.name limit 4)
        union all (select 'bill', b.version from bill b where b.drive_id = d.id order by b.version limit 4)
        union all (select 'valuation', v.number::text from valuation v where v.drive_id = d.id order by v.number limit 4)
        union all (select 'disputed quantity', q.number::text from quantity_dispute q where q.drive_id = d.id order by q.number limit 4)
        union all (select distinct 'programme', p.programme from programme_point p where p.drive_id = d.id order by 2 limit 4)
        union all (select distinct 'support limits', coalesce('from ' || l.valid_from, 'from the beginning') from drive_support_limit l where l.drive_id = d.id
          order by 2 limit 4)
        union all (select 'attachment', f.file_name from attached_file f where f.drive_id = d.id order by f.number limit 4)
        union all (select 'notice', n.code from contract_notice n where n.drive_id = d.id order by n.code limit 4)
        union all (select 'closure', c.code from site_closure c where c.drive_id = d.id order by c.code limit 4)
        union all (select 'proposal of strokes', s.number::text from stroke_proposal s where s.drive_id = d.id order by s.number limit 4)
        union all (select 'machine sample', m.at::text from machine_sample m where m.drive_id = d.id order by m.at limit 4)
      ) r (kind, name)
      where p_table = 'drive' and d.id = p_id)
  )
  select kind, name from found order by rank, kind, name;
end;

comment on function record_user is 'What still uses a row of the record: one row per user, by kind and name, four of a kind at the most.';
