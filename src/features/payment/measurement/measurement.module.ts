import { Module } from '@nestjs/common';
import { MeasurementController } from './measurement.controller.js';
import { MeasurementResolver } from './measurement.resolver.js';
import { MeasurementService } from './measurement.service.js';

@Module({ controllers: [MeasurementController], providers: [MeasurementService, MeasurementResolver] })
export class MeasurementModule {}
