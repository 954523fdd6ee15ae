-- One row per shift: the last change that wrote to its document. To update a copy, read again the shifts whose number has risen.
create or replace view shift_changed as
select h.id as shift_id, h.drive_id, h.from_change as change_number, c.made_at as changed_at
from history.shift h
join history.change c on c.project_id = h.project_id and c.number = h.from_change
where h.from_change <= coalesce(history.standing_change(), 9223372036854775806) and h.to_change > coalesce(history.standing_change(), 9223372036854775806);

comment on view shift_changed is 'One row per shift: number and moment of the last change of its document or its state.';
comment on column shift_changed.change_number is 'Number of that change in the history of the project.';
comment on column shift_changed.changed_at is 'When that change was made.';
