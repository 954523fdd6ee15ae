import type { TestApp } from '../../harness/app.js';

export type Body = Record<string, unknown>;

/** A shift with one hour of boring and eleven of maintenance, countersigned by another person unless it stays a draft. */
export const bored = (
  app: TestApp,
  drive: string,
  day: string,
  stroke: number,
  fromM: number,
  toM: number,
  more = '',
  state: 'draft' | 'countersigned' = 'countersigned',
): Promise<unknown> =>
  app.sql(`begin;
    select set_config('drivebook.actor', 'anna', true);
    insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      select d.id, '${day}', c.id, '${day} 06:00Z', '${day} 18:00Z', 'draft', 'x'
      from drive d join calendar_shift c on c.project_id = d.project_id and c.name = 'day' where d.code = '${drive}';
    create temporary table booked on commit drop as
      select s.id, s.drive_id from shift s join drive d on d.id = s.drive_id where d.code = '${drive}' and s.shift_date = '${day}';
    insert into boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
      select drive_id, id, ${stroke}, ${fromM}, ${toM}, '${day} 06:00Z', '${day} 07:00Z' from booked;
    insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id)
      select b.drive_id, b.id, t.from_at, t.to_at, c.id
      from booked b
      cross join (values ('BORE', timestamptz '${day} 06:00Z', timestamptz '${day} 07:00Z'), ('MAINT', '${day} 07:00Z', '${day} 18:00Z')) t(code, from_at, to_at)
      join drive d on d.id = b.drive_id
      join activity_code c on c.code = t.code and c.project_id = d.project_id;
    ${more};
    ${state === 'draft' ? '' : `update shift set state = 'submitted' where id = (select id from booked); ${COUNTERSIGN('(select id from booked)')}`}
    commit`);

/** Somebody other than the poster countersigns shifts. */
export const COUNTERSIGN = (ids: string): string =>
  `select set_config('drivebook.actor', 'boris', true); update shift set state = 'countersigned' where id in ${ids};`;

/** A drive of this length, driven this far in a countersigned shift, with decisions agreed by another person. */
export const aTrial = async (
  app: TestApp,
  drive: string,
  lengthM: number,
  drivenM: number,
  decisions: [fromM: number, toM: number, groundClass: string][] = [],
): Promise<string> => {
  await app.http.put(`/v1/projects/P1/drives/${drive}`).send({
    name: 'Trial',
    startChainage: '0',
    endChainage: String(lengthM),
    direction: 1,
    boredDiameterM: '7',
  });
  const url = `/v1/projects/P1/drives/${drive}`;
  if (drivenM > 0) await bored(app, drive, '2027-02-01', 1, 0, drivenM);
  for (const [index, [from, to, groundClass]] of decisions.entries())
    await app.http.put(`${url}/class-decisions/${index + 1}`).send({
      from: String(from),
      to: String(to),
      groundClass,
      contractorRepresentative: 'C',
      employerRepresentative: 'E',
    });
  await app.sql(`begin; select set_config('drivebook.actor', 'boris', true);
    update class_decision set state = 'agreed' where drive_id = (select id from drive where code = '${drive}'); commit`);
  return url;
};

export const BASIS = { rule: 'difference', tenderedWeeks: '52', workingHoursPerWeek: '101' };
