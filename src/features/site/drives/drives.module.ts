import { Module } from '@nestjs/common';
import { StrokeValuesModule } from '../../driving/stroke-values/stroke-values.module.js';
import { DrivesController } from './drives.controller.js';
import { DrivesResolver, ProjectDrivesResolver } from './drives.resolver.js';
import { DrivesService } from './drives.service.js';
import { MachinesService } from './machines.service.js';

@Module({
  imports: [StrokeValuesModule],
  controllers: [DrivesController],
  providers: [DrivesService, MachinesService, DrivesResolver, ProjectDrivesResolver],
  exports: [DrivesService],
})
export class DrivesModule {}
