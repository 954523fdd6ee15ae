import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { DiscontinuitiesController } from './discontinuities.controller.js';
import { DiscontinuitiesResolver } from './discontinuities.resolver.js';
import { DiscontinuitiesService } from './discontinuities.service.js';
import { OrientationsService } from './orientations.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [DiscontinuitiesController],
  providers: [DiscontinuitiesService, OrientationsService, DiscontinuitiesResolver],
  exports: [OrientationsService],
})
export class DiscontinuitiesModule {}
