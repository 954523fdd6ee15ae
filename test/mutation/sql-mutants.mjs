import { readFileSync } from 'node:fs';

const COMPARISONS = { '<': ['<=', '>='], '<=': ['<', '>'], '>': ['>=', '<='], '>=': ['>', '<'] };

/** Replacements of functions. */
const CALLS = {
  round: 'trunc',
  trunc: 'round',
  floor: 'ceil',
  ceil: 'floor',
  greatest: 'least',
  least: 'greatest',
};

/** Comments, text, range bounds, words, numbers, operators as PostgreSQL parses them, and the rest. */
const TOKEN =
  /(?<unread>--[^\n]*|\/\*[\s\S]*?\*\/|\s+|\$\$)|(?<text>'(?:[^']|'')*')|(?<word>[A-Za-z_][\w.]*)|(?<number>\d+(?:\.\d+)?|\.\d+)|(?<operator>[-+*/<>=~!@#%^&|`?]+|::|:=)|(?<other>.)/gy;

const RANGES = { "'[)'": "'[]'", "'[]'": "'[)'", "'(]'": "'[]'", "'()'": "'[)'" };

const larger = (text) => (text.includes('.') ? (Number(text) * 1.1).toFixed(6) : String(Number(text) + 1));

const tokensOf = (text) =>
  [...text.matchAll(TOKEN)]
    .map(({ index, 0: said, groups }) => ({
      kind: Object.keys(groups).find((name) => groups[name] !== undefined),
      said,
      start: index,
      end: index + said.length,
    }))
    .filter(({ kind }) => kind !== 'unread');

/** By index of a closing bracket: the function called, and whether a comma precedes the last argument. */
const digitsOf = (tokens) => {
  const found = new Set();
  const open = [];
  for (const [place, { said }] of tokens.entries()) {
    if (said === '(') open.push({ called: tokens[place - 1]?.said, commas: 0 });
    else if (said === ',' && open.length > 0) open.at(-1).commas += 1;
    else if (said === ')') {
      const { called, commas } = open.pop() ?? {};
      const last = tokens[place - 1];
      if (called === 'round' && commas === 1 && last?.kind === 'number' && tokens[place - 2].said === ',')
        found.add(last);
    }
  }
  return found;
};

/**
 * The mutants of a view or function: digits and direction of rounding, the operator and the number of a comparison, the larger for the
 * smaller, the open end of a range.
 * @returns { file, start, end, text, kind, line, column, was }
 */
export const sqlMutantsOf = (file) => {
  const whole = readFileSync(file, 'utf8');
  const text = whole.split(/^comment on /m)[0];
  const tokens = tokensOf(text);
  const digits = digitsOf(tokens);
  const found = [];
  const add = ({ start, end, said }, kind, replacement) => {
    const before = text.slice(0, start).split('\n');
    found.push({
      file,
      start,
      end,
      text: replacement,
      kind,
      line: before.length,
      column: before.at(-1).length + 1,
      was: said,
    });
  };
  const isComparison = (token) => token?.kind === 'operator' && Object.hasOwn(COMPARISONS, token.said);
  for (const [place, token] of tokens.entries()) {
    const { kind, said } = token;
    if (digits.has(token)) for (const by of [1, -1]) add(token, 'rounding', String(Number(said) + by));
    else if (kind === 'number' && (isComparison(tokens[place - 1]) || isComparison(tokens[place + 1])))
      add(token, 'bound', larger(said));
    else if (isComparison(token)) for (const other of COMPARISONS[said]) add(token, 'comparison', other);
    else if (kind === 'text' && Object.hasOwn(RANGES, said)) add(token, 'bound', RANGES[said]);
    else if (kind === 'word' && tokens[place + 1]?.said === '(' && Object.hasOwn(CALLS, said))
      add(token, ['greatest', 'least'].includes(said) ? 'bound' : 'rounding', CALLS[said]);
  }
  return found;
};
