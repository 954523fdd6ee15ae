import { createHash } from 'node:crypto';

const FIRST_SIZE = 1 << 14;

/**
 * The lines on which keys first occurred, for a million keys in 25 MB: a key is identified by 64 bits of its SHA-256. Two of a
 * million keys have the same 64 bits in one of 37 million tables.
 */
export class SeenKeys {
  private size = FIRST_SIZE;
  private count = 0;
  private slots = new Uint32Array(3 * FIRST_SIZE);

  /** The line on which the key first occurred; undefined: it has not been seen. */
  lineOf(key: string): number | undefined {
    const [high, low] = digest(key);
    const at = this.place(high, low);
    return this.slots[at + 2] === 0 ? undefined : this.slots[at + 2];
  }

  /** @param line  from 1 */
  add(key: string, line: number): void {
    const [high, low] = digest(key);
    const at = this.place(high, low);
    if (this.slots[at + 2] !== 0) return;
    this.slots.set([high, low, line], at);
    this.count += 1;
    if (this.count > this.size / 2) this.grow();
  }

  private place(high: number, low: number): number {
    let at = 3 * (low % this.size);
    while (this.slots[at + 2] !== 0 && (this.slots[at] !== high || this.slots[at + 1] !== low))
      at = (at + 3) % (3 * this.size);
    return at;
  }

  private grow(): void {
    const before = this.slots;
    this.size *= 2;
    this.slots = new Uint32Array(3 * this.size);
    for (let from = 0; from < before.length; from += 3) {
      const [high = 0, low = 0, line = 0] = before.subarray(from, from + 3);
      if (line !== 0) this.slots.set([high, low, line], this.place(high, low));
    }
  }
}

const digest = (key: string): [number, number] => {
  const bytes = createHash('sha256').update(key).digest();
  return [bytes.readUInt32BE(0), bytes.readUInt32BE(4)];
};
