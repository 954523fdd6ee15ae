import { parseArgs } from 'node:util';
import { DriveReader } from '../common/database/drive-reader.service.js';
import { CertificationService } from '../features/valuations/certification.service.js';
import type { ValuationVerification } from '../features/valuations/valuation.models.js';
import { ValuationsService } from '../features/valuations/valuations.service.js';
import { command } from './command.js';
import { onRecord } from './on-record.js';

const USAGE = `drivebook valuation verify NUMBER --project P --drive D

Measures a certified valuation again, from the record as it stood when it was certified, and compares every line and the
digest of its source records with what was certified. Names what differs.

It reads the database of DATABASE_URL, or the embedded one of DATA_DIR while the service does not run. The service itself
answers the same: GET /v1/projects/P/drives/D/valuations/NUMBER/verification.

Exit status: 0 equal, 1 different or not certified, 2 not understood.
`;

const OPTIONS = {
  project: { type: 'string' },
  drive: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

interface Request {
  number: number;
  project: string;
  drive: string;
}

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Request | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [what, number = '', ...more] = positionals;
  if (what !== 'verify' || more.length > 0)
    throw new Error(`drivebook valuation verifies, not "${positionals.join(' ')}".`);
  if (!/^[1-9]\d{0,8}$/.test(number)) throw new Error(`"${number}" is not the number of a valuation.`);
  const { project, drive } = values;
  if (!project || !drive) throw new Error('--project and --drive are needed.');
  return { number: Number(number), project, drive };
};

const inWords = ({ number, equal, lineCount, measuredChange, differences }: ValuationVerification): string =>
  [
    ...differences.map(
      ({ version, reference, field, certified, measured }) =>
        `bill ${version}, item ${reference}: ${field} was certified as ${certified ?? 'nothing'} and measures ${measured ?? 'nothing'}`,
    ),
    `Valuation ${number}: ${equal ? 'equal' : 'different'}, ${lineCount} lines against the record after change ${measuredChange}.`,
  ].join('\n') + '\n';

const verify = ({ number, project, drive }: Request): Promise<number> =>
  onRecord(project, async (database) => {
    const drives = new DriveReader(database);
    const certification = new CertificationService(database, drives, new ValuationsService(database, drives));
    const verification = await certification.verify(drive, number);
    process.stdout.write(inWords(verification));
    return verification.equal ? 0 : 1;
  });

/** `drivebook valuation verify NUMBER`: measures a certified valuation again. */
export const valuation = command(USAGE, understood, verify);
