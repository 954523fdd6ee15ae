import { importSamples } from './import-samples.js';
import { importStrokes } from './import-strokes.js';

const USAGE = `drivebook import strokes FILE.csv …    a table of strokes; see drivebook import strokes --help
drivebook import samples FILE …        what a machine's logger wrote; see drivebook import samples --help
`;

const KINDS: Record<string, (args: string[]) => Promise<number>> = {
  strokes: importStrokes,
  samples: importSamples,
};

/** `drivebook import`: what stands in a file. @returns the exit status */
export const importFile = async ([kind = '', ...args]: string[]): Promise<number> => {
  if (Object.hasOwn(KINDS, kind)) return (await KINDS[kind]?.(args)) ?? 2;
  const asked = kind === '--help' || kind === '-h';
  (asked ? process.stdout : process.stderr).write(
    asked ? USAGE : `drivebook imports strokes or samples, not "${kind}".\n\n${USAGE}`,
  );
  return asked ? 0 : 2;
};
