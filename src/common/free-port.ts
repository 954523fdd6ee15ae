import { once } from 'node:events';
import { createServer } from 'node:net';

/**
 * Checks for a taken port before anything is started in vain.
 * @param port  0: any free port, which is never taken
 * @param source  the setting or option that gives the port
 * @throws Error in one sentence when another program listens there
 */
export const refusePortInUse = async (port: number, host: string, source: string): Promise<void> => {
  const server = createServer();
  try {
    server.listen(port, host);
    await once(server, 'listening');
    server.close();
    await once(server, 'close');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    throw new Error(
      `Port ${port} of ${host} is taken: stop the program that listens there, or name another port by ${source}.`,
    );
  }
};
