/** A token of an expression: quoted text, a name or literal, or a symbol. */
export interface Word {
  kind: 'text' | 'word' | 'sign' | 'end';
  text: string;
  /** Position, in characters from 0. */
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
 * The tokens of an expression, found in one pass from left to right.
 * @throws RangeError with the position of an unclosed quote, or of a character that begins no token
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
