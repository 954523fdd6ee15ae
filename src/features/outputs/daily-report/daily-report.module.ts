import { Module } from '@nestjs/common';
import { DailyReportController } from './daily-report.controller.js';
import { DailyReportResolver } from './daily-report.resolver.js';
import { DailyReportService } from './daily-report.service.js';

@Module({
  controllers: [DailyReportController],
  providers: [DailyReportService, DailyReportResolver],
})
export class DailyReportModule {}
