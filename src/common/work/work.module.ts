import { Global, Module } from '@nestjs/common';
import { Background } from './background.js';
import { Papers } from './papers.js';
import { Workers } from './workers.js';

/** Gives the threads, and what works in the background, to every feature. */
@Global()
@Module({ providers: [Background, Papers, Workers], exports: [Background, Papers, Workers] })
export class WorkModule {}
