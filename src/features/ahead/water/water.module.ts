import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { InflowEstimateService } from './inflow-estimate.service.js';
import { InflowController } from './inflow.controller.js';
import { InflowResolver } from './inflow.resolver.js';
import { InflowService } from './inflow.service.js';
import { WaterLimitsService } from './water-limits.service.js';
import { WaterTestsController } from './water-tests.controller.js';
import { WaterTestsResolver } from './water-tests.resolver.js';
import { WaterTestsService } from './water-tests.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [InflowController, WaterTestsController],
  providers: [
    InflowService,
    InflowEstimateService,
    InflowResolver,
    WaterLimitsService,
    WaterTestsService,
    WaterTestsResolver,
  ],
})
export class WaterModule {}
