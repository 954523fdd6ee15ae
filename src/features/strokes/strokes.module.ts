import { Module } from '@nestjs/common';
import { StrokeImportService } from './stroke-import.service.js';
import { StrokeValuesService } from './stroke-values.service.js';
import { StrokesController } from './strokes.controller.js';
import { StrokesResolver } from './strokes.resolver.js';
import { StrokesService } from './strokes.service.js';

@Module({
  controllers: [StrokesController],
  providers: [StrokesService, StrokeImportService, StrokeValuesService, StrokesResolver],
  exports: [StrokeValuesService],
})
export class StrokesModule {}
