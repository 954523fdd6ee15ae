import { Module } from '@nestjs/common';
import { BillExportService } from './bill-export.service.js';
import { BillsController } from './bills.controller.js';
import { BillsResolver } from './bills.resolver.js';
import { BillsService } from './bills.service.js';

@Module({
  controllers: [BillsController],
  providers: [BillsService, BillExportService, BillsResolver],
})
export class BillsModule {}
