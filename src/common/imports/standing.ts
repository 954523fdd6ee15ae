import { Injectable } from '@nestjs/common';

/** Reads those records of a drive that stand under some names, each as its GET answers it, in one statement. */
export type ReadStanding = (drive: string, names: readonly string[]) => Promise<object[]>;

/** What reads many records of a kind at once, as features register it. */
@Injectable()
export class StandingReaders {
  private readonly readers = new Map<string, ReadStanding>();

  /** @param kind  as it stands in addresses; its key is one name */
  register(kind: string, read: ReadStanding): void {
    this.readers.set(kind, read);
  }

  of(kind: string): ReadStanding | undefined {
    return this.readers.get(kind);
  }
}
