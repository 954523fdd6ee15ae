import { Module } from '@nestjs/common';
import { CertificationService } from './certification.service.js';
import { EvidenceController } from './evidence.controller.js';
import { EvidenceService } from './evidence.service.js';
import { ValuationsController } from './valuations.controller.js';
import { ValuationsResolver } from './valuations.resolver.js';
import { ValuationsService } from './valuations.service.js';

@Module({
  controllers: [ValuationsController, EvidenceController],
  providers: [ValuationsService, CertificationService, EvidenceService, ValuationsResolver],
  exports: [ValuationsService, CertificationService],
})
export class ValuationsModule {}
