import { Module } from '@nestjs/common';
import { SupportMeasureController } from './support-measure.controller.js';
import { SupportMeasureResolver } from './support-measure.resolver.js';
import { SupportMeasureService } from './support-measure.service.js';
import { SupportController } from './support.controller.js';
import { SupportResolver } from './support.resolver.js';
import { SupportService } from './support.service.js';

@Module({
  controllers: [SupportController, SupportMeasureController],
  providers: [SupportService, SupportResolver, SupportMeasureService, SupportMeasureResolver],
})
export class SupportModule {}
