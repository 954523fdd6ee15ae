import { escaped, type Fault, shown } from './problem.js';

/** Limits on JSON input; the largest document that the API takes has a third of the values. */
export const JSON_LIMITS = {
  /** arrays and objects inside each other */
  depth: 32,
  /** members of an object; the largest class of the API has some forty */
  members: 200,
  /** elements of an array */
  elements: 10_000,
  /** values in total */
  values: 60_000,
  /** length of a name [byte] */
  nameBytes: 256,
  /** length of a number */
  numberBytes: 100,
} as const;

const [QUOTE, BACKSLASH, COMMA, MINUS, OPEN_ARRAY, CLOSE_ARRAY, OPEN_OBJECT, CLOSE_OBJECT] = [
  0x22, 0x5c, 0x2c, 0x2d, 0x5b, 0x5d, 0x7b, 0x7d,
];

const figure = (value: number): string => value.toLocaleString('en');

/** An array or an object that has been opened and not yet closed. */
interface Level {
  isObject: boolean;
  /** elements or members so far, less one */
  commas: number;
  /** where the name of the last member stands; −1 before the first */
  nameStart: number;
  nameEnd: number;
  /** whether the next string is a name */
  awaitsName: boolean;
  /** names of the members so far */
  names: Set<string>;
}

const NO_NAMES = new Set<string>();

const opened = (isObject: boolean): Level => ({
  isObject,
  commas: 0,
  nameStart: -1,
  nameEnd: -1,
  awaitsName: isObject,
  names: isObject ? new Set() : NO_NAMES,
});

/** The end of a string that begins with a quotation mark. A loop: strings are short, and native calls cost more. */
const endOfText = (json: Buffer, start: number): number => {
  for (let at = start + 1; at < json.length; at += 1) {
    const byte = json[at];
    if (byte === BACKSLASH) at += 1;
    else if (byte === QUOTE) return at;
  }
  return json.length;
};

const NUMBER_BYTES = new Set(Buffer.from('+-.0123456789Ee'));

/** The end of a number that begins here: runs over every character that a number may contain. */
const endOfNumber = (json: Buffer, start: number): number => {
  let at = start + 1;
  while (NUMBER_BYTES.has(json[at] ?? 0)) at += 1;
  return at;
};

/** The digits of a number from the first to the last non-zero one. */
const digitsOf = (number: string): string => {
  const digits = number.replace(/[eE].*$/, '').replace(/[-.]/g, '');
  let [start, end] = [0, digits.length];
  while (digits[start] === '0') start += 1;
  while (end > start && digits[end - 1] === '0') end -= 1;
  return digits.slice(start, end);
};

/** A double represents any number of this many digits exactly enough to give it back (IEEE 754). */
const SURE_DIGITS = 15;

/** Whether reading a number changes its value. A number written with the 17 digits that distinguish doubles does not count. */
const isRounded = (text: string): boolean => {
  if (text.length <= SURE_DIGITS && !/e/i.test(text)) return false;
  if (text.length > JSON_LIMITS.numberBytes) return true;
  const number = Number(text);
  return (
    !Number.isNaN(number) &&
    ![String(number), number.toPrecision(17)].some((written) => digitsOf(written) === digitsOf(text))
  );
};

/** A name as it is read: escapes decoded. */
const nameOf = (json: Buffer, start: number, end: number): string => {
  const name = json.toString('utf8', start + 1, end);
  if (!name.includes('\\')) return name;
  try {
    return JSON.parse(`"${name}"`) as string;
  } catch {
    return name;
  }
};

/** JSON Pointer to the last value in the innermost of these levels. */
const pointerOf = (json: Buffer, levels: readonly Level[]): string =>
  levels
    .map(({ isObject, commas, nameStart, nameEnd }) =>
      isObject ? `/${escaped(nameOf(json, nameStart, nameEnd))}` : `/${commas}`,
    )
    .join('');

/**
 * Checks JSON before it is parsed. Deep nesting would overflow whatever recurses through it, and very wide documents would take
 * seconds to validate; of a duplicate name, one value would be lost; and a number that no double holds would be read as another.
 * It reads each byte once and keeps the names of the open objects. Malformed JSON is left to the parser.
 * @returns the first fault, with its place; undefined: none
 */
export const jsonFault = (json: Buffer, in_: Fault['in'] = 'body'): Fault | undefined => {
  const levels: Level[] = [];
  let level: Level | undefined;
  let values = 1;
  let numbers = 0;
  const fault = (detail: string, isMember = false, value?: string): Fault => ({
    in: in_,
    pointer: pointerOf(json, isMember ? levels : levels.slice(0, -1)),
    ...(value === undefined ? {} : { value }),
    detail,
  });
  for (let at = 0; at < json.length; at += 1) {
    switch (json[at]) {
      case QUOTE: {
        const end = endOfText(json, at);
        if (level?.awaitsName === true) {
          if (end - at - 1 > JSON_LIMITS.nameBytes) {
            const name = json.toString('utf8', at + 1, at + 1 + JSON_LIMITS.nameBytes);
            return fault(
              `the name ${JSON.stringify(shown(name))} is longer than ${JSON_LIMITS.nameBytes} bytes`,
            );
          }
          level.awaitsName = false;
          level.nameStart = at;
          level.nameEnd = end;
          const name = nameOf(json, at, end);
          if (level.names.has(name)) return fault(`${JSON.stringify(shown(name))} is given twice`, true);
          level.names.add(name);
        }
        at = end;
        break;
      }
      case COMMA:
        if (!level) break;
        level.commas += 1;
        values += 1;
        level.awaitsName = level.isObject;
        if (level.isObject ? level.commas >= JSON_LIMITS.members : level.commas >= JSON_LIMITS.elements)
          return fault(
            level.isObject
              ? `an object has more than ${JSON_LIMITS.members} members`
              : `an array has more than ${figure(JSON_LIMITS.elements)} elements`,
          );
        break;
      case OPEN_ARRAY:
      case OPEN_OBJECT:
        values += 1;
        level = opened(json[at] === OPEN_OBJECT);
        levels.push(level);
        if (levels.length > JSON_LIMITS.depth)
          return fault(`the JSON is nested deeper than ${JSON_LIMITS.depth} levels`);
        break;
      case CLOSE_ARRAY:
      case CLOSE_OBJECT:
        levels.pop();
        level = levels.at(-1);
        break;
      default: {
        const byte = json[at] ?? 0;
        if (byte !== MINUS && !(byte >= 0x30 && byte <= 0x39)) break;
        const end = endOfNumber(json, at);
        numbers += 1;
        const number = numbers > JSON_LIMITS.values ? '0' : json.toString('latin1', at, end); // too many is reported below
        if (isRounded(number))
          return fault(
            `${String(shown(number))} is more than a JSON number holds exactly: send it as text`,
            true,
            number,
          );
        at = end - 1;
      }
    }
    if (values > JSON_LIMITS.values || numbers > JSON_LIMITS.values)
      return { in: in_, pointer: '', detail: `the JSON has more than ${figure(JSON_LIMITS.values)} values` };
  }
  return undefined;
};
