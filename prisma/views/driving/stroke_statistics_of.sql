-- Statistics of some strokes, one row per quantity that any of them has: the only definition, for every breakdown.
--
-- mean counts each stroke once. Weights depend on the quantity: properties of a metre of rock (readings, indices, whether the
-- advance was regular) are weighted by length; quantities per time (rates, power) by boring time too. For the rate by the
-- clock, the mean by time is metres over hours, and the mean by length is never below it. Lengths and times of strokes have no
-- weighted mean. regular_advance counts 1 for a regular stroke and 0 for an exceptional one, so its mean is the share of
-- strokes; its mean by length is the share of metres, boring by boring; it has no median. Percentiles are interpolated
-- (percentile_cont).
--
-- A stroke's values are read once, in the order of the quantities, and each quantity then sorts its own: lowest, P10, median,
-- P90 and highest come from one sort, which holds only the values of its quantity.
create or replace function stroke_statistics_of(strokes stroke_performance[])
returns table (
  place int, quantity text, unit text, stroke_count int, mean float8, median float8, p10 float8, p90 float8, length_weighted_mean float8,
  time_weighted_mean float8)
language sql immutable parallel safe begin atomic
  with kind (place, quantity, unit, by_length, by_time) as (
    values
      (1, 'penetration_mm_per_rev', 'mm/rev', true, false),
      (2, 'penetration_rate_m_per_h', 'm/h', true, true),
      (3, 'timed_penetration_rate_m_per_h', 'm/h', true, true),
      (4, 'thrust_kn', 'kN', true, false),
      (5, 'thrust_per_disc_kn', 'kN', true, false),
      (6, 'torque_knm', 'kNm', true, false),
      (7, 'power_kw', 'kW', true, true),
      (8, 'torque_ratio', '-', true, false),
      (9, 'regular_advance', '-', true, false),
      (10, 'specific_energy_mj_per_m3', 'MJ/m3', true, false),
      (11, 'field_penetration_index', 'kN per mm/rev', true, false),
      (12, 'torque_penetration_index', 'kNm per mm/rev', true, false),
      (13, 'length_m', 'm', false, false),
      (14, 'regrip_minutes', 'min', false, false),
      (15, 'cycle_minutes', 'min', false, false)
  ), sample as materialized (
    select s.length_m::float8 as metres, s.boring_seconds::float8 as seconds, s.regular_m, s.judged_m,
      array[s.penetration_mm_per_rev, s.penetration_rate_m_per_h, s.timed_penetration_rate_m_per_h, s.thrust_kn, s.thrust_per_disc_kn,
        s.torque_knm, s.power_kw, s.torque_ratio, s.regular_advance::int::float8, s.specific_energy_mj_per_m3, s.field_penetration_index,
        s.torque_penetration_index, s.length_m::float8, s.regrip_minutes::float8, s.cycle_minutes::float8] as measured
    from unnest(strokes) s
  )
  select kind.place, kind.quantity, kind.unit, t.stroke_count, mean(t.sorted[1], t.sorted[5], t.total, t.stroke_count),
    case when kind.quantity <> 'regular_advance' then t.sorted[3] end,
    case when kind.quantity <> 'regular_advance' then t.sorted[2] end,
    case when kind.quantity <> 'regular_advance' then t.sorted[4] end,
    case when kind.quantity = 'regular_advance' then t.regular_share when kind.by_length then mean(t.sorted[1], t.sorted[5], t.by_metres, t.metres) end,
    case when kind.by_time then mean(t.lowest_timed, t.highest_timed, t.by_seconds, t.seconds) end
  from kind
  cross join lateral (
    select count(*)::int as stroke_count, percentile_cont(array[0, 0.1, 0.5, 0.9, 1]) within group (order by value) as sorted,
      sum(value) as total, sum(value * metres) as by_metres, sum(metres) as metres, sum(value * seconds) as by_seconds, sum(seconds) as seconds,
      sum(regular_m)::float8 / nullif(sum(judged_m)::float8, 0) as regular_share,
      min(value) filter (where kind.by_time and seconds > 0) as lowest_timed, max(value) filter (where kind.by_time and seconds > 0) as highest_timed
    from (select measured[kind.place] as value, metres, seconds, regular_m, judged_m from sample offset 0) v
    where value is not null
  ) t
  where t.stroke_count > 0;
end;

comment on function stroke_statistics_of(stroke_performance[]) is
  'Count, mean, median, P10, P90 (interpolated) and means weighted by length and by boring time of some strokes, one row per quantity that any of them has.';
