import { Module } from '@nestjs/common';
import { CatalogueController } from './catalogue.controller.js';
import { CatalogueResolver } from './catalogue.resolver.js';
import { CatalogueService } from './catalogue.service.js';

@Module({
  controllers: [CatalogueController],
  providers: [CatalogueService, CatalogueResolver],
})
export class CatalogueModule {}
