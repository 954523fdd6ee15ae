import type { Fault } from '../../../common/api/problem.js';
import type { Statements } from '../../../common/database/database.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';

/** A fault for each zone of a list that the project does not have. */
export const zoneFaults = async (
  statements: Statements,
  list: readonly { zone: string }[],
  pointer: string,
): Promise<Fault[]> => {
  const zones = await codesOf(statements, 'working_zone');
  return list.flatMap(({ zone }, index): Fault[] =>
    zones.includes(zone)
      ? []
      : [
          {
            in: 'body',
            pointer: `${pointer}/${index}/zone`,
            value: zone,
            detail: unknownCode('zone', zone, zones),
          },
        ],
  );
};
