import { Module } from '@nestjs/common';
import { StrokePerformanceController } from './stroke-performance.controller.js';
import { StrokePerformanceResolver } from './stroke-performance.resolver.js';
import { StrokePerformanceService } from './stroke-performance.service.js';
import { StrokeImportService } from './stroke-import.service.js';
import { StrokeValuesService } from './stroke-values.service.js';
import { StrokesController } from './strokes.controller.js';
import { StrokesResolver } from './strokes.resolver.js';
import { StrokesService } from './strokes.service.js';

@Module({
  controllers: [StrokesController, StrokePerformanceController],
  providers: [
    StrokesService,
    StrokePerformanceService,
    StrokeImportService,
    StrokeValuesService,
    StrokesResolver,
    StrokePerformanceResolver,
  ],
  exports: [StrokeValuesService],
})
export class StrokesModule {}
