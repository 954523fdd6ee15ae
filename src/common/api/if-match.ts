/** The entity tag of the compressed representation: no other tag of the service contains a semicolon. */
export const encodedTag = (tag: string, encoding: string): string => tag.replace(/"$/, `;${encoding}"`);

/** The tag of the uncompressed representation; both stand for the same version. */
const plain = (tag: string): string => tag.replace(/;[a-z]+"$/, '"');

const tagsOf = (list: string): string[] => list.split(',').map((tag) => tag.trim());

/** Whether If-Match names the version (RFC 9110, section 13.1.1). Strong comparison: a weak tag names no exact version. */
export const matches = (ifMatch: string, etag: string): boolean =>
  tagsOf(ifMatch).some((tag) => tag === '*' || tag === etag || plain(tag) === etag);

const unweakened = (list: string): string => list.replace(/\bW\//g, '');

/** Whether If-None-Match names the version (section 13.1.2). Weak comparison: any tag of the same content matches. */
export const matchesWeakly = (ifNoneMatch: string, etag: string): boolean =>
  matches(unweakened(ifNoneMatch), etag);

/** The tag of the representation that the caller holds, to be sent with 304 (section 15.4.5): compressed or not. */
export const tagAtCaller = (ifNoneMatch: string, etag: string): string =>
  tagsOf(unweakened(ifNoneMatch)).find((tag) => plain(tag) === etag) ?? etag;
