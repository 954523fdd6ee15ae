import type { Fault } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';

/** The error text for an unknown zone, with the allowed ones. */
export const unknownZone = (zone: string, zones: readonly string[]): string =>
  `zone ${zone} is not in the project: its zones are ${zones.join(', ')}`;

/** The codes of the project's zones. */
export const zonesOf = async (statements: Statements): Promise<string[]> =>
  (await readRows<{ code: string }>(statements, 'select code from working_zone order by code')).map(
    ({ code }) => code,
  );

/** A fault for each zone of a list that the project does not have. */
export const zoneFaults = async (
  statements: Statements,
  list: readonly { zone: string }[],
  pointer: string,
): Promise<Fault[]> => {
  const zones = await zonesOf(statements);
  return list.flatMap(({ zone }, index): Fault[] =>
    zones.includes(zone)
      ? []
      : [{ in: 'body', pointer: `${pointer}/${index}/zone`, value: zone, detail: unknownZone(zone, zones) }],
  );
};
