import { Module } from '@nestjs/common';
import { DiscontinuitiesController } from './discontinuities.controller.js';
import { DiscontinuitiesResolver } from './discontinuities.resolver.js';
import { DiscontinuitiesService } from './discontinuities.service.js';
import { OrientationsService } from './orientations.service.js';

@Module({
  controllers: [DiscontinuitiesController],
  providers: [DiscontinuitiesService, OrientationsService, DiscontinuitiesResolver],
  exports: [OrientationsService],
})
export class DiscontinuitiesModule {}
