import { Module } from '@nestjs/common';
import { ManyPuts } from './many-puts.js';
import { TogetherKinds } from './together.js';

@Module({ providers: [ManyPuts, TogetherKinds], exports: [ManyPuts, TogetherKinds] })
export class TogetherModule {}
