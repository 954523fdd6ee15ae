import { Module } from '@nestjs/common';
import { HistoryController } from './history.controller.js';
import { HistoryResolver } from './history.resolver.js';
import { HistoryService } from './history.service.js';

@Module({ controllers: [HistoryController], providers: [HistoryService, HistoryResolver] })
export class HistoryModule {}
