import { Module } from '@nestjs/common';
import { BaselinesController } from './baselines.controller.js';
import { BaselinesResolver } from './baselines.resolver.js';
import { BaselinesService } from './baselines.service.js';
import { EncounteredService } from './encountered.service.js';

@Module({
  controllers: [BaselinesController],
  providers: [BaselinesService, BaselinesResolver, EncounteredService],
})
export class BaselinesModule {}
