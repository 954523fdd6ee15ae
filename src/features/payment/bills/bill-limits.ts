/** Most items of a bill. */
export const MOST_ITEMS = 2000;
