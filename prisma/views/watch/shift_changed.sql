-- One row per shift: the last change that wrote to its document.
create or replace view shift_changed as
select record_id as shift_id, drive_id, change_number, changed_at from record_changed where table_name = 'shift';

comment on view shift_changed is 'One row per shift: number and moment of the last change of its document or its state.';
comment on column shift_changed.change_number is 'Number of that change in the history of the project.';
comment on column shift_changed.changed_at is 'When that change was made.';
