import { Module } from '@nestjs/common';
import { CalendarController } from './calendar.controller.js';
import { CalendarResolver } from './calendar.resolver.js';
import { CalendarService } from './calendar.service.js';
import { ClosuresService } from './closures.service.js';

@Module({
  controllers: [CalendarController],
  providers: [CalendarService, ClosuresService, CalendarResolver],
})
export class CalendarModule {}
