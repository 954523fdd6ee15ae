/** Most rows of a table that is imported by one request, blank ones too. */
export const MOST_ROWS = 5000;

/** Most rows of a table that is imported by a job, blank ones too. */
export const MOST_LARGE_ROWS = 1_000_000;

/**
 * Most rows of a large table that is taken whole, or tried: they are one transaction, for the end of which all other writes of the
 * project wait.
 */
export const MOST_WHOLE_ROWS = 20_000;

/** From so many new records on, tables that have grown are analysed at once. */
export const MANY = 1000;
