import { Module } from '@nestjs/common';
import { ProjectsModule } from '../projects/projects.module.js';
import { CatalogueController } from './catalogue.controller.js';
import { CatalogueResolver } from './catalogue.resolver.js';
import { CatalogueService } from './catalogue.service.js';

@Module({
  imports: [ProjectsModule],
  controllers: [CatalogueController],
  providers: [CatalogueService, CatalogueResolver],
})
export class CatalogueModule {}
