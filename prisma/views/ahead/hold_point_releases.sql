-- One row per release of a hold point, including withdrawn ones.
create or replace view hold_point_releases as
select
  p.code as project_code,
  d.code as drive_code,
  h.code as hold_point_code,
  r.released_at,
  r.released_by,
  r.released_for,
  r.evidence,
  r.recorded_at,
  r.withdrawn_by,
  r.withdrawn_at,
  r.withdrawn_for,
  r.withdrawal_reason,
  r.drive_id,
  r.hold_point_id,
  r.id as release_id
from hold_point_release r
join hold_point h on h.drive_id = r.drive_id and h.id = r.hold_point_id
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id;

comment on view hold_point_releases is 'The releases of hold points: by whom, when, on what evidence; withdrawn by whom and why.';
comment on column hold_point_releases.released_at is 'When it was released, as stated; recorded_at: when that was entered.';
comment on column hold_point_releases.released_for is 'For which party, as JSON: code, name, kind, side at that moment; null: not recorded.';
comment on column hold_point_releases.hold_point_code is 'Code of the hold point in its drive.';
comment on column hold_point_releases.released_by is 'Who released it.';
comment on column hold_point_releases.evidence is 'On what evidence.';
comment on column hold_point_releases.recorded_at is 'When the release was entered.';
comment on column hold_point_releases.withdrawn_by is 'Who withdrew the release; null: not withdrawn.';
comment on column hold_point_releases.withdrawn_at is 'When it was withdrawn.';
comment on column hold_point_releases.withdrawn_for is 'For which party it was withdrawn, as JSON; null: not recorded.';
comment on column hold_point_releases.withdrawal_reason is 'Why it was withdrawn.';
comment on column hold_point_releases.hold_point_id is 'Id of the hold point.';
comment on column hold_point_releases.release_id is 'Id of the release.';
