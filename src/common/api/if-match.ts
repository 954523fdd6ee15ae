/** The entity tag of a representation, compressed: a semicolon is in no tag of the record. */
export const encodedTag = (tag: string, encoding: string): string => tag.replace(/"$/, `;${encoding}"`);

/** The tag of what was compressed; whoever has seen that has seen the version. */
const plain = (tag: string): string => tag.replace(/;[a-z]+"$/, '"');

const tagsOf = (list: string): string[] => list.split(',').map((tag) => tag.trim());

/** Whether If-Match names the version (RFC 9110, section 13.1.1). Strong comparison: a weak tag names no exact version. */
export const matches = (ifMatch: string, etag: string): boolean =>
  tagsOf(ifMatch).some((tag) => tag === '*' || tag === etag || plain(tag) === etag);

const unweakened = (list: string): string => list.replace(/\bW\//g, '');

/** Whether If-None-Match names the version (section 13.1.2). Weak comparison: any tag of the same content will do. */
export const matchesWeakly = (ifNoneMatch: string, etag: string): boolean =>
  matches(unweakened(ifNoneMatch), etag);

/** The tag of the representation that the caller holds, as a 304 says it (section 15.4.5): compressed, or as it is. */
export const tagHeld = (ifNoneMatch: string, etag: string): string =>
  tagsOf(unweakened(ifNoneMatch)).find((tag) => plain(tag) === etag) ?? etag;
