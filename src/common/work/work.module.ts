import { Global, Module } from '@nestjs/common';
import { Workers } from './workers.js';

/** Gives the threads to every feature. */
@Global()
@Module({ providers: [Workers], exports: [Workers] })
export class WorkModule {}
