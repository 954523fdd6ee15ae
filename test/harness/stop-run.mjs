import { once } from 'node:events';

export default async function stop() {
  await globalThis.endSharedServices?.();
  const holder = globalThis.heldTestRun;
  if (holder === undefined || holder.exitCode !== null) return;
  holder.stdin.end();
  await once(holder, 'exit');
}
