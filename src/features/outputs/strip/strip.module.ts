import { Module } from '@nestjs/common';
import { MissingSupportModule } from '../../support/missing-support/missing-support.module.js';
import { StripController } from './strip.controller.js';
import { StripService } from './strip.service.js';

@Module({ imports: [MissingSupportModule], controllers: [StripController], providers: [StripService] })
export class StripModule {}
