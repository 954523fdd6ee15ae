import { createHash, randomUUID } from 'node:crypto';

/** Part of every tag: after a restart, another build or other fonts may draw the same input differently. */
const START = randomUUID();

/** A picture or file with its input read but not yet drawn: a client that already holds it is answered without drawing it. */
export class Undrawn<Drawing> {
  /**
   * @param from  everything that the drawing depends on: text and numbers as JSON, and bytes, which may be long
   * @param draw  must produce the same bytes for the same `from`
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

  /** The same, with a callback once it is drawn, to set headers such as the file name: a failure must not have them. */
  saying(say: () => void): Undrawn<Drawing> {
    return new Undrawn(this.from, async () => {
      const drawing = await this.draw();
      say();
      return drawing;
    });
  }

  /** The same in another format. @param more  what else that format depends on */
  as<Form>(more: unknown, draw: (drawing: Drawing) => Promise<Form> | Form): Undrawn<Form> {
    return new Undrawn([...this.from, more], async () => draw(await this.draw()));
  }
}
