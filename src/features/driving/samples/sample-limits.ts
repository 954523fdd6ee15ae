/** Most rejected rows of an upload that are reported. */
export const MOST_REJECTIONS = 100;

/** Longest span of a proposal of strokes. [d] */
export const LONGEST_SPAN_D = 31;

/** Most borings, regrips or remarks of a proposal. */
export const MOST_FINDINGS = 10_000;

/**
 * Rows that are rejected or blank after which an upload is given up, when they are more than those that can be taken:
 * what is refused is then cheap, whatever is sent.
 */
export const MOST_REFUSED = 100_000;
