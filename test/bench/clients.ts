import type pg from 'pg';
import { spread, type Times } from './compare.js';
import { type Comparison, milliseconds, PROJECT } from './comparisons.js';
import { Connection, type Server } from './processes.js';
import { processorTime, type ProcessorTime, saysProcessorTime } from './processor-time.js';
import type { Setting } from './setting.js';
import { Face } from './shift-maker.js';

/** People who post at once, each to their own drive. */
export const CLIENTS = 8;

/** The drives used by the clients of a server. */
export const clientDrives = (server: 'OURS' | 'HAND'): string[] =>
  Array.from({ length: CLIENTS }, (_, n) => `${server}${n}`);

const ROUNDS = 8;
const EACH = 5;

/** Goal for Node's processor time of a shift PUT. [ms] */
const MOST_NODE_MS = 15;

interface Posting {
  name: string;
  server: Server;
  clients: { connection: Connection; base: string; drive: string; face: Face }[];
}

const postingTo = (name: string, server: Server, base: string, drives: string[]): Posting => ({
  name,
  server,
  clients: drives.map((drive) => ({
    connection: new Connection(server.address),
    base,
    drive,
    face: new Face(0, 0, 0),
  })),
});

/** All clients at once, each with several shifts one after the other. */
const postAll = async ({ clients }: Posting): Promise<void> => {
  const made = clients.map(({ connection, base, drive, face }) => ({
    connection,
    puts: Array.from({ length: EACH }, () => {
      const { date, shift, body } = face.next();
      return { path: `${base}/drives/${drive}/shifts/${date}/${shift}`, text: JSON.stringify(body) };
    }),
  }));
  await Promise.all(
    made.map(async ({ connection, puts }) => {
      for (const { path, text } of puts) await connection.send('PUT', path, text);
    }),
  );
};

/** Shift PUTs by eight clients at once: throughput and processor time of the service against the hand-written server's. */
export const compareShiftClients = async (setting: Setting, session: pg.Client): Promise<Comparison[]> => {
  const postings = [
    postingTo('service', setting.service, PROJECT, clientDrives('OURS')),
    postingTo('hand-written', setting.handWritten, '', clientDrives('HAND')),
  ];
  const times: Times = { service: [], 'hand-written': [] };
  const ran: Record<string, ProcessorTime[]> = { service: [], 'hand-written': [] };
  const puts = CLIENTS * EACH;
  for (let round = -1; round < ROUNDS; round += 1)
    for (const posting of round % 2 === 0 ? postings : postings.toReversed()) {
      const start = performance.now();
      const took = await processorTime(session, posting.server, () => postAll(posting));
      if (round < 0) continue; // warm-up
      times[posting.name]?.push((performance.now() - start) / puts);
      ran[posting.name]?.push({ node: took.node / puts, postgres: took.postgres / puts });
    }
  for (const { connection } of postings.flatMap(({ clients }) => clients)) connection.close();
  const what = `shift PUT by ${CLIENTS} clients at once, each to its own drive`;
  const over = (of: (time: ProcessorTime) => number, name: string): number[] => (ran[name] ?? []).map(of);
  const both = ({ node, postgres }: ProcessorTime): number => node + postgres;
  const ratio = (service: number[], hand: number[]): Comparison['ratio'] =>
    spread(service.map((time, round) => (hand[round] ?? NaN) / time));
  const throughput: Comparison = {
    what,
    measure: 'throughput, service / hand-written',
    ratio: ratio(times['service'] ?? [], times['hand-written'] ?? []),
    target: { least: 0.9 },
    milliseconds: milliseconds(times),
  };
  if (!saysProcessorTime()) return [throughput];
  return [
    throughput,
    {
      what,
      measure: 'processor time of Node and PostgreSQL, hand-written / service',
      ratio: ratio(over(both, 'service'), over(both, 'hand-written')),
      target: { least: 0.9 },
      milliseconds: Object.fromEntries(
        postings.flatMap(({ name }) => [
          [`${name}, Node`, spread(over(({ node }) => node, name))],
          [`${name}, PostgreSQL`, spread(over(({ postgres }) => postgres, name))],
        ]),
      ),
    },
    {
      what,
      measure: `processor time of Node a PUT / ${MOST_NODE_MS} ms`,
      ratio: spread(over(({ node }) => node / MOST_NODE_MS, 'service')),
      target: { most: 1 },
      milliseconds: { Node: spread(over(({ node }) => node, 'service')) },
    },
  ];
};
