/** Number of rejected rows of an upload that are listed. */
export const MOST_REJECTIONS = 100;

/** Longest time span of a proposal of strokes. [d] */
export const LONGEST_SPAN_D = 31;

/** Most borings, regrips or remarks of a proposal. */
export const MOST_FINDINGS = 10_000;

/**
 * An upload is aborted after this many rejected or blank rows, if they outnumber the valid ones: so a bad upload costs little,
 * whatever is sent.
 */
export const MOST_REFUSED = 100_000;
