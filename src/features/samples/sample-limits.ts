/** Most rejected rows of an upload that are told. */
export const MOST_REJECTIONS = 100;

/** Longest span of a proposal of strokes. [d] */
export const LONGEST_SPAN_D = 31;

/** Most borings, regrips or remarks of a proposal. */
export const MOST_FINDINGS = 10_000;
