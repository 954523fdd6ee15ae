import { Module } from '@nestjs/common';
import { GroutingController } from './grouting.controller.js';
import { GroutingResolver } from './grouting.resolver.js';
import { GroutingService } from './grouting.service.js';

@Module({ controllers: [GroutingController], providers: [GroutingService, GroutingResolver] })
export class GroutingModule {}
