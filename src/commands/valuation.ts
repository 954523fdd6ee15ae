import { DriveReader } from '../common/database/drive-reader.service.js';
import { Background } from '../common/work/background.js';
import { CertificationService } from '../features/payment/valuations/certification.service.js';
import { DraftSums } from '../features/payment/valuations/draft-sums.service.js';
import type { ValuationVerification } from '../features/payment/valuations/valuation.models.js';
import { ValuationsService } from '../features/payment/valuations/valuations.service.js';
import { type AddCommand, notes, ON_DATABASE, onDrive, print, wholeNumber, withJson } from './command.js';
import { onRecord } from './on-record.js';

interface Options {
  project: string;
  drive: string;
  json?: boolean;
}

const inWords = ({ number, equal, lineCount, measuredChange, differences }: ValuationVerification): string =>
  [
    ...differences.map(
      ({ version, reference, field, certified, measured }) =>
        `bill ${version}, item ${reference}: ${field} was certified as ${certified ?? 'nothing'} and measures ${measured ?? 'nothing'}`,
    ),
    `Valuation ${number}: ${equal ? 'equal' : 'different'}, ${lineCount} lines against the record after change ${measuredChange}.`,
  ].join('\n') + '\n';

const verify = (number: number, { project, drive, json }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const drives = new DriveReader(database);
    const valuations = new ValuationsService(database, drives, new DraftSums(database, new Background()));
    const certification = new CertificationService(database, drives, valuations);
    const verification = await certification.verify(drive, number);
    print(verification, json, () => inWords(verification));
    return verification.equal ? 0 : 1;
  });

const MAX_NUMBER = 999_999_999;

const EXAMPLES = `Examples:
  drivebook valuation verify 1 --project TRIAL --drive N

The service answers the same: GET /v1/projects/P/drives/D/valuations/NUMBER/verification.
${ON_DATABASE}`;

/** `drivebook valuation verify NUMBER`: measures a certified valuation again. */
export const addValuation: AddCommand = (program, finish) => {
  const valuation = program.command('valuation').description('verify certified valuations');
  const command = valuation
    .command('verify')
    .summary('measure a certified valuation again')
    .description(
      'Measures a certified valuation again, from the record as it stood when it was certified, and compares every line and the digest of its source records with what was certified. Names what differs.',
    )
    .argument('<number>', 'number of the valuation', wholeNumber(1, MAX_NUMBER));
  withJson(onDrive(command)).action(async (number: number, options: Options) =>
    finish(await verify(number, options)),
  );
  for (const each of [valuation, command]) notes(each, EXAMPLES);
};
