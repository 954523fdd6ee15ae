import { Turns } from '../work/turns.js';

/** An answer that is JSON already. REST sends the text as it is; read and written again, it would cost as much as its making. */
export class JsonText<T> {
  constructor(readonly text: string) {}

  /** What it says, for whoever needs it part by part. */
  value(): T {
    return JSON.parse(this.text) as T;
  }
}

/** A list is read so much at a time. [characters] */
const GROUP = 64 * 1024;

const [QUOTE, BACKSLASH, COMMA, OPEN_ARRAY, CLOSE_ARRAY, OPEN_OBJECT, CLOSE_OBJECT] = [
  0x22, 0x5c, 0x2c, 0x5b, 0x5d, 0x7b, 0x7d,
];

/** Where a text ends that begins with the quotation mark at a place. */
const endOfText = (json: string, start: number): number => {
  let at = start + 1;
  while (json.charCodeAt(at) !== QUOTE) at += json.charCodeAt(at) === BACKSLASH ? 2 : 1;
  return at;
};

/** Where a long list is divided: the commas between its elements that stand a group apart, and its end. */
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

/** Rows as the JSON that PostgreSQL built. */
export class JsonRows<T> extends JsonText<T[]> {
  /** The rows, some at a time: whoever waits for the event loop has it in between. */
  async *groups(): AsyncGenerator<T[], void> {
    const turns = new Turns();
    let from = 0;
    for (const end of dividedAt(this.text)) {
      if (turns.isOver) await turns.wait();
      yield JSON.parse(`[${this.text.slice(from + 1, end)}]`) as T[];
      from = end;
    }
  }

  /** All of them; a long list is read in turns. */
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

/** An object of which some fields are JSON already, and go as they are. */
export const jsonOf = <T extends object>(fields: {
  [Key in keyof T]: T[Key] | JsonText<NonNullable<T[Key]>>;
}): JsonText<T> => {
  const written = Object.entries(fields).map(
    ([name, value]) => `${JSON.stringify(name)}:${answerText(value ?? null)}`,
  );
  return new JsonText<T>(`{${written.join(',')}}`);
};

/** How answers are written. */
export const answerText = (answer: unknown): string =>
  answer instanceof JsonText ? answer.text : JSON.stringify(answer);
