import { Injectable } from '@nestjs/common';

/** Reads the existing records of a drive among some names, each as its GET answers it, in one statement. */
export type ReadStanding = (drive: string, names: readonly string[]) => Promise<object[]>;

/** Readers of many records of a kind at once, registered by features. */
@Injectable()
export class StandingReaders {
  private readonly readers = new Map<string, ReadStanding>();

  /** @param kind  as in addresses; its key is a single name */
  register(kind: string, read: ReadStanding): void {
    this.readers.set(kind, read);
  }

  of(kind: string): ReadStanding | undefined {
    return this.readers.get(kind);
  }
}
