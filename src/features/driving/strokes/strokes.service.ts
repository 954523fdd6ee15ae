import { Injectable } from '@nestjs/common';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { pageRows } from '../../../common/database/listed.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { Stroke, type StrokePage } from './stroke.model.js';

const STROKES = sql`select ${columnsOf(Stroke, '', { number: 'stroke_number' })}
  from stroke where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

@Injectable()
export class StrokesService {
  constructor(private readonly drives: DriveReader) {}

  /** Up to `first` strokes after a number. */
  async page(drive: string, { first, after }: Page): Promise<StrokePage> {
    const items = await this.drives.reading(drive, (id, statements) =>
      pageRows(statements, STROKES, id, after, first + 1),
    );
    return pageFrom(items, first, ({ number }) => number);
  }
}
