import { Module } from '@nestjs/common';
import { DoubtLimitsService } from './doubt-limits.service.js';
import { DoubtsController } from './doubts.controller.js';
import { DoubtLimitsResolver, RecordDoubtsResolver } from './doubts.resolver.js';
import { DoubtsService } from './doubts.service.js';

@Module({
  controllers: [DoubtsController],
  providers: [DoubtLimitsService, DoubtsService, DoubtLimitsResolver, RecordDoubtsResolver],
})
export class DoubtsModule {}
