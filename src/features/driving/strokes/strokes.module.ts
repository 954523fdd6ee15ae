import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { StrokePerformanceController } from './stroke-performance.controller.js';
import { StrokePerformanceResolver } from './stroke-performance.resolver.js';
import { StrokePerformanceService } from './stroke-performance.service.js';
import { StrokeImportService } from './stroke-import.service.js';
import { StrokesController } from './strokes.controller.js';
import { StrokesResolver } from './strokes.resolver.js';
import { StrokesService } from './strokes.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [StrokesController, StrokePerformanceController],
  providers: [
    StrokesService,
    StrokePerformanceService,
    StrokeImportService,
    StrokesResolver,
    StrokePerformanceResolver,
  ],
})
export class StrokesModule {}
