import { Module } from '@nestjs/common';
import { AgsExportService } from './ags-export.service.js';
import { AgsController } from './ags.controller.js';

@Module({ controllers: [AgsController], providers: [AgsExportService] })
export class AgsModule {}
