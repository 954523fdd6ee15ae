import { Module } from '@nestjs/common';
import { AcceptProposalService } from './accept-proposal.service.js';
import { ProposalsService } from './proposals.service.js';
import { SampleStore } from './sample-store.js';
import { SampleUploadService } from './sample-upload.service.js';
import { SamplesController } from './samples.controller.js';
import { SamplesResolver } from './samples.resolver.js';
import { SamplesService } from './samples.service.js';
import { StrokeProposalsController } from './stroke-proposals.controller.js';

@Module({
  controllers: [SamplesController, StrokeProposalsController],
  providers: [
    SamplesService,
    SampleStore,
    SampleUploadService,
    ProposalsService,
    AcceptProposalService,
    SamplesResolver,
  ],
})
export class SamplesModule {}
