import { Module } from '@nestjs/common';
import { StrokeValuesService } from './stroke-values.service.js';

@Module({ providers: [StrokeValuesService], exports: [StrokeValuesService] })
export class StrokeValuesModule {}
