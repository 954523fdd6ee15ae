import { Module } from '@nestjs/common';
import { MissingSupportModule } from '../../support/missing-support/missing-support.module.js';
import { RecordController } from './record.controller.js';
import { RecordResolver } from './record.resolver.js';
import { RecordService } from './record.service.js';

@Module({
  imports: [MissingSupportModule],
  controllers: [RecordController],
  providers: [RecordService, RecordResolver],
  exports: [RecordService],
})
export class RecordModule {}
