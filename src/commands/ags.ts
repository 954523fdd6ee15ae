import { DriveReader } from '../common/database/drive-reader.service.js';
import { AgsExportService } from '../features/outputs/ags/ags-export.service.js';
import type { AgsIssue } from '../features/outputs/ags/ags.models.js';
import { type AddCommand, notes, ON_DATABASE, onDrive, print, toBeWritten, withJson } from './command.js';
import { onRecord } from './on-record.js';
import { writeNew } from './write-new.js';

interface Options extends AgsIssue {
  project: string;
  drive: string;
  json?: boolean;
}

const write = (file: string, { project, drive, json, ...issue }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const text = await new AgsExportService(new DriveReader(database)).file(drive, issue);
    if (!(await writeNew(file, Buffer.from(text, 'ascii')))) return 1;
    const bytes = text.length;
    print({ file, drive, bytes }, json, () => `${file}: drive ${drive} as AGS 4.1.1, ${bytes} bytes.`);
    return 0;
  });

const NOTES = `Examples:
  drivebook ags n.ags --project TRIAL --drive N --recipient "Office of the designer"

The service answers the same: GET /v1/projects/P/drives/D/ags.
${ON_DATABASE}`;

/** `drivebook ags FILE`: writes the ground of a drive as AGS 4.1.1. */
export const addAgs: AddCommand = (program, finish) => {
  const command = program
    .command('ags')
    .summary('write probe holes, ground and discontinuities as AGS 4.1.1')
    .description(
      'Writes probe holes, ground, water strikes, water tests and discontinuities of a drive to a new file of AGS 4.1.1, the open exchange format of ground data.',
    )
    .argument('<file>', 'the file to write', toBeWritten('<file>'));
  withJson(onDrive(command))
    .option('--issue <text>', 'issue of the file', '1')
    .option('--status <text>', 'status of the data', 'Draft')
    .option('--producer <text>', 'who produced it; the contractor of the project when not given')
    .option('--recipient <text>', 'who receives it; the client of the project when not given')
    .action(async (file: string, options: Options) => finish(await write(file, options)));
  notes(command, NOTES);
};
