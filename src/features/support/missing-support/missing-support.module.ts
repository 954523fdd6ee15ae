import { Module } from '@nestjs/common';
import { LiveModule } from '../../watch/live/live.module.js';
import { GapsService } from './gaps.service.js';
import { JudgementKeeper } from './judgement-keeper.service.js';
import { MissingSupportController } from './missing-support.controller.js';
import { MissingSupportResolver } from './missing-support.resolver.js';
import { MissingSupportService } from './missing-support.service.js';
import { UnsupportedService } from './unsupported.service.js';

@Module({
  imports: [LiveModule],
  controllers: [MissingSupportController],
  providers: [
    JudgementKeeper,
    MissingSupportService,
    GapsService,
    UnsupportedService,
    MissingSupportResolver,
  ],
  exports: [JudgementKeeper],
})
export class MissingSupportModule {}
