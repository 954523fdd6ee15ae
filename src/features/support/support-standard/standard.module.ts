import { Module } from '@nestjs/common';
import { LimitsService } from './limits.service.js';
import { SectionsService } from './sections.service.js';
import { StandardController } from './standard.controller.js';
import { DesignResolver, StandardResolver } from './standard.resolver.js';
import { StandardsService } from './standards.service.js';

@Module({
  controllers: [StandardController],
  providers: [StandardsService, SectionsService, LimitsService, StandardResolver, DesignResolver],
})
export class StandardModule {}
