import { Module } from '@nestjs/common';
import { InflowController } from './inflow.controller.js';
import { InflowResolver } from './inflow.resolver.js';
import { InflowService } from './inflow.service.js';
import { WaterLimitsService } from './water-limits.service.js';

@Module({
  controllers: [InflowController],
  providers: [InflowService, InflowResolver, WaterLimitsService],
})
export class WaterModule {}
