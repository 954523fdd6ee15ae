import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { GroundLogsController } from './ground-logs.controller.js';
import { GroundLogsResolver } from './ground-logs.resolver.js';
import { GoverningLogService } from './governing-log.service.js';
import { GroundLogsService } from './ground-logs.service.js';
import { RockMassService } from './rock-mass.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [GroundLogsController],
  providers: [GroundLogsService, GoverningLogService, RockMassService, GroundLogsResolver],
})
export class GroundLogsModule {}
