import type { TestApp } from '../support/app.js';

export type Body = Record<string, unknown>;

/** A drive of a length, driven so far, with decisions agreed by another. */
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
  if (drivenM > 0)
    await app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m) select id, 1, 0, $2 from drive where code = $1`,
      [drive, drivenM],
    );
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
