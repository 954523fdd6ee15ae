import { Turns } from '../work/turns.js';

/** An answer that is JSON text already. REST sends it unchanged; parsing and writing it again would cost as much as making it. */
export class JsonText<T> {
  constructor(readonly text: string) {}

  /** The parsed value, for callers that need its parts. */
  value(): T {
    return JSON.parse(this.text) as T;
  }
}

/** Size of the groups in which a long list is parsed. [characters] */
const GROUP = 64 * 1024;

const [QUOTE, BACKSLASH, COMMA, OPEN_ARRAY, CLOSE_ARRAY, OPEN_OBJECT, CLOSE_OBJECT] = [
  0x22, 0x5c, 0x2c, 0x5b, 0x5d, 0x7b, 0x7d,
];

/** The end of a string that begins with the quotation mark at this position. */
const endOfText = (json: string, start: number): number => {
  let at = start + 1;
  while (json.charCodeAt(at) !== QUOTE) at += json.charCodeAt(at) === BACKSLASH ? 2 : 1;
  return at;
};

/** Where to split a long list: at a comma between elements about every group, and at its end. */
function* dividedAt(list: string): Generator<number, void> {
  let [from, depth] = [0, 0];
  for (let at = 1; at < list.length - 1; at += 1) {
    const code = list.charCodeAt(at);
    if (code === QUOTE) at = endOfText(list, at);
    else if (code === OPEN_OBJECT || code === OPEN_ARRAY) depth += 1;
    else if (code === CLOSE_OBJECT || code === CLOSE_ARRAY) depth -= 1;
    else if (code === COMMA && depth === 0 && at - from >= GROUP) {
      yield at;
      from = at;
    }
  }
  yield list.length - 1;
}

/** Rows as JSON built by PostgreSQL. */
export class JsonRows<T> extends JsonText<T[]> {
  /** The rows in groups, so that other work on the event loop runs in between. */
  async *groups(): AsyncGenerator<T[], void> {
    const turns = new Turns();
    let from = 0;
    for (const end of dividedAt(this.text)) {
      if (turns.isOver) await turns.wait();
      yield JSON.parse(`[${this.text.slice(from + 1, end)}]`) as T[];
      from = end;
    }
  }

  /** All rows; a long list is parsed over several turns of the event loop. */
  async rowsInTurns(): Promise<T[]> {
    if (this.text.length <= GROUP) return this.rows();
    const groups: T[][] = [];
    for await (const group of this.groups()) groups.push(group);
    return groups.flat();
  }

  rows(): T[] {
    return this.value();
  }
}

/** An object in which some fields are JSON text already, used unchanged. */
export const jsonOf = <T extends object>(fields: {
  [Key in keyof T]: T[Key] | JsonText<NonNullable<T[Key]>>;
}): JsonText<T> => {
  const written = Object.entries(fields).map(
    ([name, value]) => `${JSON.stringify(name)}:${answerText(value ?? null)}`,
  );
  return new JsonText<T>(`{${written.join(',')}}`);
};

/** Writes an answer as text. */
export const answerText = (answer: unknown): string =>
  answer instanceof JsonText ? answer.text : JSON.stringify(answer);
