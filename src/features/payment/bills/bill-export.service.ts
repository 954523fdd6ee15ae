import { Injectable } from '@nestjs/common';
import { scope } from '../../../common/database/scope.js';
import { csvOf, type CsvCell } from '../../../common/files/csv.js';
import { xlsxOf } from '../../../common/files/xlsx.js';
import { COLUMNS } from './bill-columns.js';
import { billSheet } from './bill-sheet.js';
import { BillsService } from './bills.service.js';

/** A bill as a file that can be imported again. */
@Injectable()
export class BillExportService {
  constructor(private readonly bills: BillsService) {}

  async csv(drive: string, version: string): Promise<string> {
    const { items } = await this.bills.get(drive, version);
    const rows = items.map((item) =>
      COLUMNS.map(({ field, isNumber }): CsvCell => {
        const value = item[field];
        if (value == null) return null;
        return isNumber ? { number: String(value) } : { text: String(value) };
      }),
    );
    return csvOf(
      COLUMNS.map(({ name }) => name),
      rows,
    );
  }

  async xlsx(drive: string, version: string): Promise<Buffer> {
    const bill = await this.bills.get(drive, version);
    return xlsxOf(billSheet(bill, { project: scope().project, drive }));
  }
}
