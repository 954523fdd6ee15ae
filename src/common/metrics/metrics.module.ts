import { Global, Module } from '@nestjs/common';
import { DatabaseMeasures } from './database-measures.js';
import { Measures } from './measures.js';
import { RecordMeasures } from './record-measures.js';

/** Provides `Measures` to every feature. */
@Global()
@Module({ providers: [Measures, DatabaseMeasures, RecordMeasures], exports: [Measures] })
export class MetricsModule {}
