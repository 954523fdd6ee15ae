/** Whether a caller's first item may start now: yes; not while the caller's share is used up; not while there is no room at all. */
export type Verdict = 'goes' | 'own share used' | 'no room';

/** A queue for each caller, served in turn, so that nobody waits behind everything that another caller has requested. */
export class RoundRobin<T> {
  /** In the order of their turns; callers with nothing waiting are left out. */
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
   * Takes the next item in turn. A caller whose own share is used up is skipped and keeps its turn; but if there is no room for the
   * next item, nobody overtakes it, or an expensive item would wait forever behind cheap ones.
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
      if (rest && this.queues.delete(caller)) this.queues.set(caller, rest); // its next turn comes after everyone else's
      return first;
    }
    return undefined;
  }

  /** Removes a waiting item. */
  remove(caller: string, item: T): void {
    const queue = this.queues.get(caller);
    const place = queue?.indexOf(item) ?? -1;
    if (!queue || place < 0) return;
    queue.splice(place, 1);
    this.count -= 1;
    if (queue.length === 0) this.queues.delete(caller);
  }
}
