import type pg from 'pg';

/** The parts of pg's connection that a query needs to send data itself. */
interface Wire {
  query(text: string): void;
  sendCopyFromChunk(chunk: Buffer): void;
  endCopyFrom(): void;
}

/** A pg query for COPY … FROM STDIN. */
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
    // reported by the next statement
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
