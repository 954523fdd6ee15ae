import { Module } from '@nestjs/common';
import { ZonesController } from './zones.controller.js';
import { ZonesResolver } from './zones.resolver.js';
import { ZonesService } from './zones.service.js';

@Module({
  controllers: [ZonesController],
  providers: [ZonesService, ZonesResolver],
})
export class ZonesModule {}
