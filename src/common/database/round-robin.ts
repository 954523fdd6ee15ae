/** Whether the first of a caller may go now: yes; not while its own share is used up; not while there is no room at all. */
export type Verdict = 'goes' | 'own share used' | 'no room';

/** A queue for each caller, served in turn, so that nobody waits behind all that one caller has asked for. */
export class RoundRobin<T> {
  /** In the order of their turns; a caller without anything waiting is not in it. */
  private readonly queues = new Map<string, T[]>();
  private count = 0;

  get length(): number {
    return this.count;
  }

  lengthOf(caller: string): number {
    return this.queues.get(caller)?.length ?? 0;
  }

  push(caller: string, item: T): void {
    const queue = this.queues.get(caller);
    if (queue) queue.push(item);
    else this.queues.set(caller, [item]);
    this.count += 1;
  }

  /**
   * Takes the next whose turn it is. A caller whose own share is used up is passed over and keeps its turn; where there
   * is no room for the next in turn, nobody overtakes it, or an expensive one would wait forever behind cheap ones.
   */
  take(verdictOf: (item: T) => Verdict): T | undefined {
    for (const [caller, queue] of this.queues) {
      const [first] = queue;
      if (first === undefined) continue;
      const verdict = verdictOf(first);
      if (verdict === 'no room') return undefined;
      if (verdict === 'own share used') continue;
      this.remove(caller, first);
      const rest = this.queues.get(caller);
      if (rest && this.queues.delete(caller)) this.queues.set(caller, rest); // its next turn comes after all others
      return first;
    }
    return undefined;
  }

  /** Gives up a place. */
  remove(caller: string, item: T): void {
    const queue = this.queues.get(caller);
    const place = queue?.indexOf(item) ?? -1;
    if (!queue || place < 0) return;
    queue.splice(place, 1);
    this.count -= 1;
    if (queue.length === 0) this.queues.delete(caller);
  }
}
