import { Global, Module } from '@nestjs/common';
import { Background } from './background.js';
import { Workers } from './workers.js';

/** Gives the threads, and what works in the background, to every feature. */
@Global()
@Module({ providers: [Background, Workers], exports: [Background, Workers] })
export class WorkModule {}
