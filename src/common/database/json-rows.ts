/**
 * Rows as the JSON that PostgreSQL built. REST sends the text as it is; read and written again, it would cost a long list as
 * much as the figure itself.
 */
export class JsonRows<T> {
  constructor(readonly text: string) {}

  /** The rows, for whoever needs them one by one. */
  rows(): T[] {
    return JSON.parse(this.text) as T[];
  }
}

/** How answers are written. */
export const answerText = (answer: unknown): string =>
  answer instanceof JsonRows ? answer.text : JSON.stringify(answer);
