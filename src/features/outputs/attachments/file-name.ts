/** Longest name of a file, in UTF-16 units. */
const LONGEST = 200;

/** Control characters and bidirectional controls, which can make a name read as another. */
const NOT_SHOWN = /[\p{Cc}\u200e\u200f\u2028-\u202e\u2066-\u2069]/u;

/** The plain name of a file as sent, without any folder; or the rule that it breaks, in words. */
export const readFileName = (given: string | undefined): { name: string } | { fault: string } => {
  const name = (given ?? '')
    .slice(Math.max((given ?? '').lastIndexOf('/'), (given ?? '').lastIndexOf('\\')) + 1)
    .trim()
    .normalize('NFC');
  if (name === '' || name === '.' || name === '..') return { fault: 'the file must have a name' };
  if (!name.isWellFormed() || NOT_SHOWN.test(name))
    return { fault: 'the name of the file must be text without control characters' };
  if (name.length > LONGEST)
    return { fault: `the name of the file must have ${LONGEST} characters at most, not ${name.length}` };
  return { name };
};

/** The RFC 8187 form of a value that is not plain ASCII: percent-encoded UTF-8. */
const extended = (text: string): string =>
  encodeURIComponent(text).replace(
    /['()*]/g,
    (letter) => `%${letter.charCodeAt(0).toString(16).toUpperCase()}`,
  );

/** Content-Disposition (RFC 6266) that makes a browser save the file instead of displaying it. */
export const asDownload = (name: string): string => `attachment; filename*=UTF-8''${extended(name)}`;
