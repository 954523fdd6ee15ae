/** Lifetime of cached answers: a revocation takes effect after this at the latest. [ms] */
const BELIEVED_MS = 2000;

const MOST = 10_000;

/** Caches answers for two seconds, so that a busy client costs one query, and revocations take effect almost at once. */
export class TtlCache<T> {
  private readonly kept = new Map<string, { until: number; answer: Promise<T> }>();

  get(key: string, ask: () => Promise<T>): Promise<T> {
    const now = performance.now();
    const known = this.kept.get(key);
    if (known && known.until > now) return known.answer;
    if (this.kept.size >= MOST) this.kept.clear();
    const answer = ask();
    this.kept.set(key, { until: now + BELIEVED_MS, answer });
    answer.catch(() => this.kept.delete(key)); // failures are not cached
    return answer;
  }

  forget(): void {
    this.kept.clear();
  }
}
