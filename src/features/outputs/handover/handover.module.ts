import { Module } from '@nestjs/common';
import { JobsModule } from '../../watch/jobs/jobs.module.js';
import { HandoverController } from './handover.controller.js';
import { HandoverJob } from './handover-job.service.js';
import { HandoverResolver } from './handover.resolver.js';

@Module({
  imports: [JobsModule],
  controllers: [HandoverController],
  providers: [HandoverJob, HandoverResolver],
})
export class HandoverModule {}
