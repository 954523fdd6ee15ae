import { Module } from '@nestjs/common';
import { BillExportService } from './bill-export.service.js';
import { BillImportService } from './bill-import.service.js';
import { BillsController } from './bills.controller.js';
import { BillsResolver } from './bills.resolver.js';
import { BillsService } from './bills.service.js';

@Module({
  controllers: [BillsController],
  providers: [BillsService, BillImportService, BillExportService, BillsResolver],
})
export class BillsModule {}
