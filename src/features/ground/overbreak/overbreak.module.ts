import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { OverbreakController } from './overbreak.controller.js';
import { OverbreakResolver } from './overbreak.resolver.js';
import { OverbreakService } from './overbreak.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [OverbreakController],
  providers: [OverbreakService, OverbreakResolver],
})
export class OverbreakModule {}
