import WebSocket, { type ClientOptions } from 'ws';

export interface Message {
  type: string;
  id?: string;
  payload?: unknown;
}

/** A client that can send anything, including what the protocol forbids. */
export interface Peer {
  socket: WebSocket;
  send(message: Message | string): void;
  /** Number of pings of the protocol received; each is answered. */
  pings(): number;
  /** The next message other than a ping. */
  next(): Promise<Message>;
  /** Code and reason once the connection is closed. */
  closed: Promise<[code: number, reason: string]>;
}

export const PROTOCOL = 'graphql-transport-ws';

/** Opens a connection. @throws the status of a refusal, as an Error */
export const dial = async (url: string, options: ClientOptions = {}, protocol = PROTOCOL): Promise<Peer> => {
  const socket = new WebSocket(url, protocol === '' ? [] : protocol, options);
  const come: Message[] = [];
  let pings = 0;
  let wake = (): void => undefined;
  socket.on('message', (data: Buffer) => {
    const message = JSON.parse(data.toString()) as Message;
    if (message.type === 'ping') {
      pings += 1;
      socket.send('{"type":"pong"}');
    } else come.push(message);
    wake();
  });
  const closed = new Promise<[number, string]>((resolve) =>
    socket.once('close', (code, reason) => resolve([code, reason.toString()])),
  );
  await new Promise<void>((resolve, reject) => {
    socket.once('open', resolve);
    socket.once('error', reject);
    socket.once('unexpected-response', (_request, { statusCode }) => {
      reject(new Error(String(statusCode)));
      socket.terminate();
    });
  });
  socket.on('error', () => undefined);
  return {
    socket,
    closed,
    pings: () => pings,
    send: (message) => socket.send(typeof message === 'string' ? message : JSON.stringify(message)),
    next: async () => {
      while (come.length === 0)
        await Promise.race([
          new Promise<void>((resolve) => (wake = resolve)),
          closed.then(([code, reason]) => {
            throw new Error(`closed: ${code} ${reason}`);
          }),
        ]);
      return come.shift() as Message;
    },
  };
};

/** An authenticated connection. */
export const enter = async (url: string, authorization: string): Promise<Peer> => {
  const peer = await dial(url);
  peer.send({ type: 'connection_init', payload: { authorization } });
  const { type } = await peer.next();
  if (type !== 'connection_ack') throw new Error(type);
  return peer;
};
