import { ApiProperty } from '@nestjs/swagger';
import { BooleanField, EnumField, IntField, ListField, TextField } from '../../../common/api/fields.js';
import { DelimiterField, FlagField, IsFile } from '../../../common/api/form-fields.js';

/** The parts of an upload, as multipart/form-data. */
export class ProbeHoleImportForm {
  @ApiProperty({
    description:
      'The holes as CSV (UTF-8), one row per hole, at most 1000. Headings: name, collar, look_out_deg and length_m; optional face, ' +
      'position_deg, look_out_azimuth_deg, planned_length_m, diameter_mm, method, state, water_inflow_l_per_min, water_depth_m, drilled_at and ' +
      'remark. Numbers have a decimal point; what is empty is not known. The log of an existing hole stays as it is',
    type: 'string',
    format: 'binary',
  })
  @IsFile('holes.csv')
  file: Buffer;

  @FlagField('Report only what the import would do, rejected rows included; nothing is written')
  dryRun?: boolean;

  @DelimiterField()
  delimiter?: string;
}

/** What became of a row of an imported sheet of probe holes. */
export enum ProbeHoleRowOutcome {
  created = 'created',
  changed = 'changed',
  unchanged = 'unchanged',
  rejected = 'rejected',
}

export class ProbeHoleImportRow {
  @IntField({ description: 'Line of the file on which the row begins; the heading row is line 1', min: 1 })
  line: number;

  @TextField({ description: 'Name of the hole; absent when it is not given', optional: true })
  name?: string;

  @EnumField({ description: 'Result for the row', values: ProbeHoleRowOutcome, name: 'ProbeHoleRowOutcome' })
  outcome: ProbeHoleRowOutcome;

  @TextField({ description: 'Why it is rejected', maxLength: 5000, optional: true })
  detail?: string;
}

export class ProbeHoleImportReport {
  @BooleanField({ description: 'Whether it was a dry run: nothing is written' })
  dryRun: boolean;

  @ListField(() => ProbeHoleImportRow, { description: 'The rows of the table, in its order' })
  rows: ProbeHoleImportRow[];

  @IntField({ description: 'Holes created' })
  created: number;

  @IntField({ description: 'Holes changed' })
  changed: number;

  @IntField({ description: 'Holes that already equal the record' })
  unchanged: number;

  @IntField({ description: 'Rows rejected; with any, nothing is written' })
  rejected: number;
}
