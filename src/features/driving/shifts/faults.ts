import { type Fault, faulty, type ProblemError } from '../../../common/api/problem.js';

/** Collects the faults of a document, to report all of them at once. */
export class Faults {
  private readonly found: Fault[] = [];

  add(pointer: string, value: unknown, detail: string): void {
    this.found.push({ in: 'body', pointer, value, detail });
  }

  /** @throws ProblemError invalid when any fault was found */
  refuse(): void {
    if (this.found.length > 0) throw this.problem();
  }

  private problem(): ProblemError {
    return faulty('invalid', this.found);
  }
}
