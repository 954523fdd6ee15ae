import path from 'node:path';
import { Charts } from '../common/charts/charts.js';
import { DriveReader } from '../common/database/drive-reader.service.js';
import { Workers } from '../common/work/workers.js';
import { ProbeFanService } from '../features/ahead/probing/probe-fan.service.js';
import { OrientationsService } from '../features/ground/discontinuities/orientations.service.js';
import type { DiagramQuery } from '../features/outputs/diagrams/diagram.models.js';
import { DiagramsService } from '../features/outputs/diagrams/diagrams.service.js';
import {
  type AddCommand,
  notes,
  ON_DATABASE,
  onDrive,
  print,
  toBeWritten,
  wholeNumber,
  withJson,
} from './command.js';
import { onRecord } from './on-record.js';
import { addReportAsBuilt } from './report-as-built.js';
import { addDailyReports } from './report-day.js';
import { writeNew } from './write-new.js';

interface Options extends DiagramQuery {
  project: string;
  drive: string;
  json?: boolean;
}

const write = (name: string, file: string, { project, drive, json, ...query }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const drives = new DriveReader(database);
    const workers = new Workers();
    try {
      const charts = new Charts(workers);
      const diagrams = new DiagramsService(
        drives,
        charts,
        new OrientationsService(drives),
        new ProbeFanService(drives),
      );
      const isPng = path.extname(file).toLowerCase() === '.png';
      const undrawn = await (isPng ? diagrams.png(drive, name, query) : diagrams.svg(drive, name, query));
      const drawing = await undrawn.draw();
      if (!(await writeNew(file, drawing))) return 1;
      const bytes = Buffer.byteLength(drawing);
      print(
        { file, diagram: name, bytes },
        json,
        () => `${file}: diagram ${name} of drive ${drive}, ${bytes} bytes.`,
      );
      return 0;
    } finally {
      await workers.close();
    }
  });

const NOTES = `Examples:
  drivebook report diagram advance advance.svg --project TRIAL --drive N
  drivebook report diagram time-chainage march.png --project TRIAL --drive N --from 2027-03-01 --to 2027-03-31

The service answers the same: GET /v1/projects/P/drives/D/diagrams lists the diagrams and what each takes.
${ON_DATABASE}`;

const GROUP_NOTES = `Examples:
  drivebook report diagram advance advance.svg --project TRIAL --drive N
  drivebook report day 2027-03-01 day.pdf --project TRIAL --drive N
  drivebook report as-built strip.pdf --project TRIAL --drive N --from 1+200 --to 1+700`;

/** `drivebook report`: diagrams of a drive, its as-built record, daily reports. */
export const addReport: AddCommand = (program, finish) => {
  const report = program.command('report').description('write diagrams, daily reports and as-built records');
  notes(report, GROUP_NOTES);
  addReportAsBuilt(report, finish);
  addDailyReports(report, finish);
  const command = report
    .command('diagram')
    .summary('write a diagram as SVG or PNG')
    .description(
      'Writes a diagram of a drive to a new file: SVG, or PNG with twice as many pixels, by the ending of its name.',
    )
    .argument('<name>', 'name of the diagram, such as advance')
    .argument('<file>', 'the file to write, .svg or .png', toBeWritten('<file>', '.svg', '.png'));
  withJson(onDrive(command))
    .option('--from <end>', 'first production day, or one end of the part of the drive, by the diagram')
    .option('--to <end>', 'last production day, or the other end of the part')
    .option('--baseline <name>', 'the baseline; the first by name when not given')
    .option('--programme <name>', 'the only programme to be drawn')
    .option('--width <px>', 'width of the drawing', wholeNumber(600, 2000))
    .option('--height <px>', 'height of the drawing', wholeNumber(400, 1500))
    .action(async (name: string, file: string, options: Options) => finish(await write(name, file, options)));
  notes(command, NOTES);
};
