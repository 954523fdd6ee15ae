/** Most rows of a table imported by one request, including blank ones. */
export const MOST_ROWS = 5000;

/** Most rows of a table imported by a job, including blank ones. */
export const MOST_LARGE_ROWS = 1_000_000;

/**
 * Most rows of a large table imported as a whole, or in a dry run: they form one transaction, and all other writes of the project
 * wait for its end.
 */
export const MOST_WHOLE_ROWS = 20_000;

/** From this many new records on, tables that have grown are analysed at once. */
export const MANY = 1000;
