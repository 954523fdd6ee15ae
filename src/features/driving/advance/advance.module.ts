import { Module } from '@nestjs/common';
import { AdvanceController } from './advance.controller.js';
import { AdvanceResolver } from './advance.resolver.js';
import { AdvanceService } from './advance.service.js';
import { FaceController } from './face.controller.js';
import { FaceResolver } from './face.resolver.js';
import { FaceService } from './face.service.js';
import { PeriodAdvanceController } from './period-advance.controller.js';
import { PeriodAdvanceResolver } from './period-advance.resolver.js';
import { PeriodAdvanceService } from './period-advance.service.js';

@Module({
  controllers: [AdvanceController, FaceController, PeriodAdvanceController],
  providers: [
    AdvanceService,
    AdvanceResolver,
    FaceService,
    FaceResolver,
    PeriodAdvanceService,
    PeriodAdvanceResolver,
  ],
  exports: [AdvanceService, FaceService, PeriodAdvanceService],
})
export class AdvanceModule {}
