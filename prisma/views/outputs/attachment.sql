-- One row per attachment: the file, and the record to which it belongs.
create or replace view attachment as
select
  p.code as project_code,
  d.code as drive_code,
  f.number,
  f.digest,
  f.file_name,
  f.media_type,
  f.size_bytes,
  f.caption,
  f.taken_at,
  f.uploaded_by,
  f.uploaded_at,
  chainage_of_driven(d.start_chainage_m, d.direction, f.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, f.to_m) as to_chainage_m,
  f.from_m,
  f.to_m,
  f.shift_date,
  f.shift_name,
  f.subject_kind::text as subject_kind,
  f.subject_name,
  f.drive_id
from attached_file f
join drive d on d.id = f.drive_id
join project p on p.id = d.project_id;

comment on view attachment is 'One row per attachment of a drive, a photo or a note: what the file is, and what it belongs to. The bytes lie on disk.';
comment on column attachment.number is '1, 2, 3 … in the drive; the number of one that was removed is not given again.';
comment on column attachment.digest is 'SHA-256 of the bytes, 64 hexadecimal digits.';
comment on column attachment.size_bytes is 'Number of its bytes.';
comment on column attachment.taken_at is 'When the photo was taken or the note written, as the uploader says.';
comment on column attachment.from_chainage_m is 'Chainage where what it shows begins; null: it is of no place. [m]';
comment on column attachment.to_chainage_m is 'Chainage where it ends; equal to from_chainage_m for a place. [m]';
comment on column attachment.from_m is 'The same in driven metres. [m]';
comment on column attachment.to_m is 'The same in driven metres. [m]';
comment on column attachment.shift_date is 'Date of the shift it belongs to; null: none.';
comment on column attachment.subject_kind is 'probe_hole, ground_log or stroke; null: none.';
comment on column attachment.subject_name is 'Name of the probe hole or ground log, or number of the stroke.';
