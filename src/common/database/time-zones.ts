import { ServiceClient } from './service-client.js';

/**
 * Of a row of pg_timezone_names, whether it is a name of the IANA database. PostgreSQL also takes abbreviations in some places, but in none
 * where a session is set to them; and what POSIX knows, where UTC+3 lies west of Greenwich.
 */
export const IS_IANA = `name !~ '^(posix|right)/|^(Factory|localtime|posixrules)$'`;

const OTHERS = `select code, time_zone as "timeZone" from project p
  where not exists (select from pg_timezone_names where name = p.time_zone and ${IS_IANA}) order by code`;

/** What is to be done about projects that were given a time zone which is no name of the IANA database; undefined: there are none. */
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
