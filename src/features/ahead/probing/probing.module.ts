import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { ProbeCoverService } from './probe-cover.service.js';
import { ProbeFanService } from './probe-fan.service.js';
import { ProbeRequirementsService } from './probe-requirements.service.js';
import { ProbingController } from './probing.controller.js';
import { ProbingResolver } from './probing.resolver.js';
import { ProbingService } from './probing.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [ProbingController],
  providers: [ProbingService, ProbeCoverService, ProbeFanService, ProbeRequirementsService, ProbingResolver],
  exports: [ProbeCoverService, ProbeFanService],
})
export class ProbingModule {}
