import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { EncountersController } from './encounters.controller.js';
import { EncountersService } from './encounters.service.js';
import { IndicationsResolver } from './indications.resolver.js';
import { InvestigationsController } from './investigations.controller.js';
import { InvestigationsService } from './investigations.service.js';
import { OutcomesService } from './outcomes.service.js';

@Module({
  imports: [TogetherModule],
  controllers: [InvestigationsController, EncountersController],
  providers: [InvestigationsService, EncountersService, OutcomesService, IndicationsResolver],
})
export class IndicationsModule {}
