import { Module } from '@nestjs/common';
import { LiveModule } from '../live/live.module.js';
import { JobStreams } from './job-stream.service.js';
import { JobsController } from './jobs.controller.js';
import { JobsResolver } from './jobs.resolver.js';
import { JobsService } from './jobs.service.js';

@Module({
  imports: [LiveModule],
  controllers: [JobsController],
  providers: [JobStreams, JobsResolver, JobsService],
  exports: [JobsService],
})
export class JobsModule {}
