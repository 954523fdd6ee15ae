import { ServiceClient } from './service-client.js';

/**
 * Condition on a row of pg_timezone_names: the name is in the IANA database. Elsewhere PostgreSQL also takes abbreviations, but not
 * to set a session's zone; and POSIX names, where UTC+3 lies west of Greenwich.
 */
export const IS_IANA = `name !~ '^(posix|right)/|^(Factory|localtime|posixrules)$'`;

const OTHERS = `select code, time_zone as "timeZone" from project p
  where not exists (select from pg_timezone_names where name = p.time_zone and ${IS_IANA}) order by code`;

/** Advice about projects whose time zone is not a name of the IANA database; undefined: there are none. */
export const otherTimeZones = async (ownerUrl: string): Promise<string | undefined> => {
  const client = new ServiceClient({ connectionString: ownerUrl });
  try {
    await client.connect();
    const { rows } = await client.query<{ code: string; timeZone: string }>(OTHERS);
    if (rows.length === 0) return undefined;
    const named = rows.map(({ code, timeZone }) => `${code} (${timeZone})`).join(', ');
    return `The time zone of these projects is not a name of the IANA database, and may mean the opposite of what was intended: ${named}. Put each project with the name of its zone, such as Europe/Zurich.`;
  } finally {
    await client.end();
  }
};
