import { Module } from '@nestjs/common';
import { AcceptanceController } from './acceptance.controller.js';
import { AcceptanceResolver, ShiftAcceptanceResolver } from './acceptance.resolver.js';
import { AcceptanceService } from './acceptance.service.js';

@Module({
  controllers: [AcceptanceController],
  providers: [AcceptanceService, AcceptanceResolver, ShiftAcceptanceResolver],
})
export class AcceptanceModule {}
