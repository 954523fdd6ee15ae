import { Module } from '@nestjs/common';
import { Charts } from '../../../common/charts/charts.js';
import { ProbingModule } from '../../ahead/probing/probing.module.js';
import { DiscontinuitiesModule } from '../../ground/discontinuities/discontinuities.module.js';
import { DiagramsController } from './diagrams.controller.js';
import { DiagramsService } from './diagrams.service.js';

@Module({
  imports: [DiscontinuitiesModule, ProbingModule],
  controllers: [DiagramsController],
  providers: [Charts, DiagramsService],
  exports: [DiagramsService],
})
export class DiagramsModule {}
