import { applyDecorators } from '@nestjs/common';
import { ApiProperty } from '@nestjs/swagger';
import { IsOptional, IsString } from 'class-validator';
import { TextField } from '../../api/fields.js';
import { DelimiterField, EmptyIsAbsent } from '../../api/form-fields.js';
import type { DeclaredForms } from './canonical.js';
import type { TableForms } from './forms.js';
import type { TableFile } from './read-table.js';

const DeclaredField = (description: string, example: string): PropertyDecorator =>
  applyDecorators(
    ApiProperty({ description, type: String, required: false, example }),
    EmptyIsAbsent(),
    IsOptional(),
    IsString(),
  );

/** What an upload may declare about the format of its table. What is left out is detected and reported. */
export class DeclaredTableForm implements Omit<TableFile, 'file'>, DeclaredForms {
  @DeclaredField('Encoding of a CSV: utf-8, utf-16le, utf-16be or windows-1252', 'utf-8')
  encoding?: string;

  @DelimiterField(' of a CSV')
  delimiter?: string;

  @DeclaredField('Name of the sheet of a workbook; needed when it has several', 'Strokes')
  sheet?: string;

  @DeclaredField('Sign before the decimals of numbers in text: point or comma', 'point')
  decimal?: string;

  @DeclaredField('Order of dates in text: dmy, mdy or ymd', 'dmy')
  dates?: string;

  @DeclaredField(
    'Zone of times without an offset: an offset from UTC, or the name of a zone (IANA)',
    '+01:00',
  )
  timeZone?: string;

  @DeclaredField('How chainages are written: km+m (12+345.678), m or km', 'km+m')
  chainages?: string;
}

/** The formats declared in an upload. */
export const declaredIn = ({
  encoding,
  delimiter,
  sheet,
  decimal,
  dates,
  timeZone,
  chainages,
}: DeclaredTableForm): DeclaredTableForm => ({
  encoding,
  delimiter,
  sheet,
  decimal,
  dates,
  timeZone,
  chainages,
});

const Found = (description: string): PropertyDecorator => TextField({ description, optional: true });

/** How a table was read: as declared, or as detected. */
export class TableReading implements Partial<Record<keyof TableForms, string>> {
  @TextField({ description: 'What the file is: csv or xlsx' })
  file: string;

  @Found('Encoding of the CSV')
  encoding?: string;

  @Found('What separates the columns of the CSV')
  delimiter?: string;

  @Found('Name of the sheet of the workbook')
  sheet?: string;

  @Found('Sign before the decimals: point or comma; absent when no number shows it')
  decimal?: string;

  @Found('Order of the dates: ymd, dmy or mdy; absent when there are none in text')
  dates?: string;

  @Found('Zone of the times without an offset')
  timeZone?: string;

  @Found('How the chainages are written: km+m, m or km; absent when there are none')
  chainages?: string;
}
