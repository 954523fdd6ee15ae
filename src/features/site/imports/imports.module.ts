import { Module } from '@nestjs/common';
import { ImportsController } from './imports.controller.js';
import { ImportsResolver } from './imports.resolver.js';
import { ImportsService } from './imports.service.js';
import { KindAccess } from './kind-access.js';
import { Kinds } from './kinds.service.js';

@Module({
  controllers: [ImportsController],
  providers: [ImportsService, ImportsResolver, KindAccess, Kinds],
  exports: [ImportsService],
})
export class ImportsModule {}
