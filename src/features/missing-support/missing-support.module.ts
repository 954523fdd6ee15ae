import { Module } from '@nestjs/common';
import { GapsService } from './gaps.service.js';
import { MissingSupportController } from './missing-support.controller.js';
import { MissingSupportResolver } from './missing-support.resolver.js';
import { MissingSupportService } from './missing-support.service.js';
import { UnsupportedService } from './unsupported.service.js';

@Module({
  controllers: [MissingSupportController],
  providers: [MissingSupportService, GapsService, UnsupportedService, MissingSupportResolver],
})
export class MissingSupportModule {}
