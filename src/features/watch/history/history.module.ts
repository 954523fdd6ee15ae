import { Module } from '@nestjs/common';
import { LiveModule } from '../live/live.module.js';
import { ChangeStreams } from './change-stream.service.js';
import { HistoryController } from './history.controller.js';
import { HistoryResolver } from './history.resolver.js';
import { HistoryService } from './history.service.js';

@Module({
  imports: [LiveModule],
  controllers: [HistoryController],
  providers: [ChangeStreams, HistoryService, HistoryResolver],
})
export class HistoryModule {}
