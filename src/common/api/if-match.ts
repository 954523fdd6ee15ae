/** Whether If-Match names the version (RFC 9110, section 13.1.1). Strong comparison: a weak tag names no exact version. */
export const matches = (ifMatch: string, etag: string): boolean =>
  ifMatch
    .split(',')
    .map((tag) => tag.trim())
    .some((tag) => tag === '*' || tag === etag);

/** Whether If-None-Match names the version (section 13.1.2). Weak comparison: any tag of the same content will do. */
export const matchesWeakly = (ifNoneMatch: string, etag: string): boolean =>
  matches(ifNoneMatch.replace(/\bW\//g, ''), etag);
