import { Module } from '@nestjs/common';
import { PartiesController } from './parties.controller.js';
import { PartiesResolver } from './parties.resolver.js';
import { PartiesService } from './parties.service.js';

@Module({ controllers: [PartiesController], providers: [PartiesService, PartiesResolver] })
export class PartiesModule {}
