-- One row per rule of kind inflow_above and trigger that is exceeded.
create or replace function alert_inflow(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule,
    case o.kind when 'per_100m' then 'per_100m ' || chainage_text(o.from_chainage_m) when 'hole' then 'hole ' || o.hole else o.kind end as subject,
    o.inflow_l_per_min as value, o.trigger_l_per_min as limit_value, 'l/min'::text as unit,
    case o.kind
      when 'per_100m' then format('Inflow per 100 m from %s to %s is %s l/min; the trigger is %s l/min.', chainage_text(o.from_chainage_m),
        chainage_text(o.to_chainage_m), o.inflow_l_per_min, o.trigger_l_per_min)
      when 'hole' then format('Inflow from hole %s is %s l/min; the trigger is %s l/min.', o.hole, o.inflow_l_per_min, o.trigger_l_per_min)
      when 'total' then format('Inflow of the drive is %s l/min; the trigger is %s l/min.', o.inflow_l_per_min, o.trigger_l_per_min)
      else format('Water to be pumped is %s l/min; the pumps take %s l/min.', o.inflow_l_per_min, o.trigger_l_per_min) end as text
  from alert_rule_of_drive r
  join inflow_over_trigger o on o.drive_id = r.drive_id
  where r.drive_id = alert_inflow.drive_id and r.kind = 'inflow_above';
end;

comment on function alert_inflow(int) is
  'In a drive: alerts of kind inflow_above that hold. Decision support: the project''s designer and the local code decide.';
