import { Module } from '@nestjs/common';
import { RecordController } from './record.controller.js';
import { RecordResolver } from './record.resolver.js';
import { RecordService } from './record.service.js';

@Module({ controllers: [RecordController], providers: [RecordService, RecordResolver] })
export class RecordModule {}
