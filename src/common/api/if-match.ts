/** Whether If-Match names the version (RFC 9110, section 13.1.1). Strong comparison: a weak tag names no exact version. */
export const matches = (ifMatch: string, etag: string): boolean =>
  ifMatch
    .split(',')
    .map((tag) => tag.trim())
    .some((tag) => tag === '*' || tag === etag);
