import { ApiProperty } from '@nestjs/swagger';
import { Transform } from 'class-transformer';
import { IsOptional, IsString } from 'class-validator';
import { EmptyIsAbsent, FlagField, IsFile } from '../../../common/api/form-fields.js';
import { decimalPattern } from '../../../common/api/rules.js';
import { DeclaredTableForm } from '../../../common/files/table/form.model.js';

const MAP_EXAMPLE = JSON.stringify({
  number: 'Stroke',
  fromM: 'Start [m]',
  toM: 'End [m]',
  thrustKn: 'Thrust [kN]',
  torqueKnm: { column: 'Torque [MNm]', factor: 1000 },
});

/** The parts of an upload, as multipart/form-data. */
export class StrokeImportForm extends DeclaredTableForm {
  @ApiProperty({
    description: 'The table: CSV or a workbook (.xlsx), a heading row, then one row per stroke; up to 20 MB',
    type: 'string',
    format: 'binary',
  })
  @IsFile('strokes.csv')
  file: Buffer;

  @ApiProperty({
    description:
      'JSON: which column each field is read from, as field → heading, or field → { "column": heading, "factor": number } for a ' +
      'reading in another unit. Fields: number; fromChainage or fromM, toChainage or toM (driven metres from the start of the drive); ' +
      'optional startedAt and endedAt, thrustKn, torqueKnm, rotationRpm, penetrationMmPerRev, gripperPressureBar, muckMassT.',
    type: String,
    example: MAP_EXAMPLE,
  })
  @Transform(({ value }: { value: unknown }) => (Buffer.isBuffer(value) ? value.toString('utf8') : value))
  @IsString({ message: '$property must be JSON text' })
  map: string;

  @FlagField('Report only what the import would do, rejected rows included; nothing is written')
  dryRun?: boolean;

  @ApiProperty({
    description: 'Move the end of a stroke to the next start when the gap is at most this, up to 0.100 [m]',
    type: String,
    format: 'decimal',
    pattern: decimalPattern(0, 3),
    example: '0.010',
    required: false,
  })
  @EmptyIsAbsent()
  @IsOptional()
  @IsString()
  closeGaps?: string;

  @FlagField('Replace all strokes imported before by the table; never strokes posted with shifts')
  replace?: boolean;
}
