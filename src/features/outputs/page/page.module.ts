import { Module } from '@nestjs/common';
import { ProbingModule } from '../../ahead/probing/probing.module.js';
import { AdvanceModule } from '../../driving/advance/advance.module.js';
import { ProgrammeModule } from '../../driving/programme/programme.module.js';
import { DrivesModule } from '../../site/drives/drives.module.js';
import { ProjectsModule } from '../../site/projects/projects.module.js';
import { AlertsModule } from '../../watch/alerts/alerts.module.js';
import { DiagramsModule } from '../diagrams/diagrams.module.js';
import { RecordModule } from '../record/record.module.js';
import { AdvanceGlances } from './advance-glance.service.js';
import { PageController } from './page.controller.js';
import { Glances, PageService } from './page.service.js';
import { StateGlances } from './state-glance.service.js';

@Module({
  imports: [
    AdvanceModule,
    AlertsModule,
    DiagramsModule,
    DrivesModule,
    ProbingModule,
    ProgrammeModule,
    ProjectsModule,
    RecordModule,
  ],
  controllers: [PageController],
  providers: [AdvanceGlances, Glances, PageService, StateGlances],
})
export class PageModule {}
