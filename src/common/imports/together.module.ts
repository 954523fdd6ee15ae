import { Module } from '@nestjs/common';
import { StandingReaders } from './standing.js';
import { TogetherKinds } from './together.js';

@Module({ providers: [StandingReaders, TogetherKinds], exports: [StandingReaders, TogetherKinds] })
export class TogetherModule {}
