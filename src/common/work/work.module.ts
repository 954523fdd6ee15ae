import { Global, Module } from '@nestjs/common';
import { Background } from './background.js';
import { Papers } from './papers.js';
import { Workers } from './workers.js';

/** Provides the threads, and background work, to every feature. */
@Global()
@Module({ providers: [Background, Papers, Workers], exports: [Background, Papers, Workers] })
export class WorkModule {}
