import { createHash, randomUUID } from 'node:crypto';

/** Another start may draw the same otherwise: its build, its fonts. */
const START = randomUUID();

/** What a picture or a file is drawn from, read but not drawn: whoever holds it already is answered without it being drawn. */
export class Undrawn<Drawing> {
  /**
   * @param from  all that the drawing depends on: text and numbers as JSON, and bytes, which may be long
   * @param draw  the same bytes for the same `from`
   */
  constructor(
    readonly from: readonly unknown[],
    readonly draw: () => Promise<Drawing>,
  ) {}

  /** Its strong entity tag (RFC 9110, section 8.8.3). */
  get tag(): string {
    const hash = createHash('sha256').update(START);
    for (const part of this.from) {
      const bytes = part instanceof Uint8Array ? part : Buffer.from(JSON.stringify(part) ?? '');
      hash.update(`\0${bytes.length}\0`).update(bytes);
    }
    return `"${hash.digest('base64url')}"`;
  }

  /** The same, with what is said of it once it is drawn: a failure has no file name. */
  saying(say: () => void): Undrawn<Drawing> {
    return new Undrawn(this.from, async () => {
      const drawing = await this.draw();
      say();
      return drawing;
    });
  }

  /** The same in another form. @param more  what else the form depends on */
  as<Form>(more: unknown, draw: (drawing: Drawing) => Promise<Form> | Form): Undrawn<Form> {
    return new Undrawn([...this.from, more], async () => draw(await this.draw()));
  }
}
