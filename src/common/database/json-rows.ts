/** An answer that is JSON already. REST sends the text as it is; read and written again, it would cost as much as its making. */
export class JsonText<T> {
  constructor(readonly text: string) {}

  /** What it says, for whoever needs it part by part. */
  value(): T {
    return JSON.parse(this.text) as T;
  }
}

/** Rows as the JSON that PostgreSQL built. */
export class JsonRows<T> extends JsonText<T[]> {
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
