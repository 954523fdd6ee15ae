import { Module } from '@nestjs/common';
import { TogetherKinds } from './together.js';

@Module({ providers: [TogetherKinds], exports: [TogetherKinds] })
export class TogetherModule {}
