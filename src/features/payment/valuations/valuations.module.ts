import { Module } from '@nestjs/common';
import { CertificationService } from './certification.service.js';
import { DraftSums } from './draft-sums.service.js';
import { EvidenceController } from './evidence.controller.js';
import { EvidenceService } from './evidence.service.js';
import { ValuationExportController } from './out/valuation-export.controller.js';
import { ValuationExportService } from './out/valuation-export.service.js';
import { ValuationsController } from './valuations.controller.js';
import { ValuationsResolver } from './valuations.resolver.js';
import { ValuationsService } from './valuations.service.js';

@Module({
  controllers: [ValuationsController, ValuationExportController, EvidenceController],
  providers: [
    ValuationsService,
    CertificationService,
    DraftSums,
    EvidenceService,
    ValuationExportService,
    ValuationsResolver,
  ],
  exports: [ValuationsService, CertificationService],
})
export class ValuationsModule {}
