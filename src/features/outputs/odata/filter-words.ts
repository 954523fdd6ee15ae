/** A piece of an expression: text in quotes, a name or literal, or a sign. */
export interface Word {
  kind: 'text' | 'word' | 'sign' | 'end';
  text: string;
  /** Where it begins, in characters from 0. */
  at: number;
}

const SPACE = /[ \t]*/y;
const TEXT = /'((?:[^']|'')*)'/y;
const SIGN = /[(),]/y;
const WORD = /[^\s'(),]+/y;

const matchAt = (pattern: RegExp, source: string, at: number): RegExpExecArray | null => {
  pattern.lastIndex = at;
  return pattern.exec(source);
};

/**
 * The pieces of an expression. Each is found once, from left to right.
 * @throws RangeError with the position of a quote that is not closed, or of a character that begins nothing
 */
export const wordsOf = (source: string): Word[] => {
  const words: Word[] = [];
  let at = 0;
  for (;;) {
    at += matchAt(SPACE, source, at)?.[0].length ?? 0;
    if (at >= source.length) return [...words, { kind: 'end', text: '', at }];
    const text = matchAt(TEXT, source, at);
    const found = text ?? matchAt(SIGN, source, at) ?? matchAt(WORD, source, at);
    if (!found) throw new RangeError(String(at));
    if (text) words.push({ kind: 'text', text: (text[1] ?? '').replaceAll("''", "'"), at });
    else words.push({ kind: /^[(),]$/.test(found[0]) ? 'sign' : 'word', text: found[0], at });
    at += found[0].length;
  }
};
