import { Module } from '@nestjs/common';
import { HoldPointsController } from './hold-points.controller.js';
import { HoldPointsResolver } from './hold-points.resolver.js';
import { HoldPointsService } from './hold-points.service.js';

@Module({ controllers: [HoldPointsController], providers: [HoldPointsService, HoldPointsResolver] })
export class HoldPointsModule {}
