-- Statistics of some strokes, one row a quantity that any of them has: the one definition for every cut.
--
-- mean counts each stroke once. Weights are those that make sense for the quantity: what a metre of rock shows (readings,
-- indices, whether the advance was regular) is weighted by length; what runs by the clock (rates, power) by boring time too.
-- Of the rate by the clock the mean by time is metres over hours, and the mean by length is never below it. Lengths and times
-- of strokes take no weight. regular_advance counts 1 for a regular stroke and 0 for an exceptional one, so its means are
-- shares, and it has no median. Percentiles interpolate between neighbours (percentile_cont).
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
  ), sample as (
    select v.place, v.value, s.length_m::float8 as metres, s.boring_seconds::float8 as seconds
    from unnest(strokes) s
    cross join lateral (
      values (1, s.penetration_mm_per_rev), (2, s.penetration_rate_m_per_h), (3, s.timed_penetration_rate_m_per_h), (4, s.thrust_kn),
        (5, s.thrust_per_disc_kn), (6, s.torque_knm), (7, s.power_kw), (8, s.torque_ratio), (9, s.regular_advance::int::float8),
        (10, s.specific_energy_mj_per_m3), (11, s.field_penetration_index), (12, s.torque_penetration_index), (13, s.length_m::float8),
        (14, s.regrip_minutes::float8), (15, s.cycle_minutes::float8)
    ) v (place, value)
    where v.value is not null
  ), summed as (
    select sample.place, count(*)::int as stroke_count, mean(min(value), max(value), sum(value), count(*)) as mean,
      percentile_cont(array[0.1, 0.5, 0.9]) within group (order by value) as percentile,
      mean(min(value), max(value), sum(value * metres), sum(metres)) as by_length,
      mean(min(value) filter (where seconds > 0), max(value) filter (where seconds > 0), sum(value * seconds), sum(seconds)) as by_time
    from sample group by sample.place
  )
  select kind.place, kind.quantity, kind.unit, t.stroke_count, t.mean,
    case when kind.quantity <> 'regular_advance' then t.percentile[2] end,
    case when kind.quantity <> 'regular_advance' then t.percentile[1] end,
    case when kind.quantity <> 'regular_advance' then t.percentile[3] end,
    case when kind.by_length then t.by_length end, case when kind.by_time then t.by_time end
  from summed t join kind on kind.place = t.place;
end;

comment on function stroke_statistics_of(stroke_performance[]) is
  'Count, mean, median, P10, P90 (interpolated) and means weighted by length and by boring time of some strokes, one row a quantity that any of them has.';
