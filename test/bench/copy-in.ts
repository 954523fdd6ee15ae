import type pg from 'pg';

/** What pg lends of its connection to a query that sends data itself. */
interface Wire {
  query(text: string): void;
  sendCopyFromChunk(chunk: Buffer): void;
  endCopyFrom(): void;
}

/** A query of pg's that is COPY … FROM STDIN. */
class CopyIn {
  constructor(
    private readonly text: string,
    private readonly pieces: Iterable<Buffer>,
    private readonly done: (error?: Error) => void,
  ) {}

  submit(wire: Wire): void {
    wire.query(this.text);
  }

  handleCopyInResponse(wire: Wire): void {
    for (const piece of this.pieces) wire.sendCopyFromChunk(piece);
    wire.endCopyFrom();
  }

  handleCommandComplete(): void {
    // reported by what follows
  }

  handleReadyForQuery(): void {
    this.done();
  }

  handleError(error: Error): void {
    this.done(error);
  }
}

/** Sends data by COPY … FROM STDIN. */
export const copyIn = (client: pg.Client, text: string, pieces: Iterable<Buffer>): Promise<void> =>
  new Promise((resolve, reject) => {
    const query = new CopyIn(text, pieces, (error) => (error ? reject(error) : resolve()));
    client.query(query as unknown as pg.Submittable);
  });
