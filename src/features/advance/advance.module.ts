import { Module } from '@nestjs/common';
import { AdvanceController } from './advance.controller.js';
import { AdvanceResolver } from './advance.resolver.js';
import { AdvanceService } from './advance.service.js';

@Module({ controllers: [AdvanceController], providers: [AdvanceService, AdvanceResolver] })
export class AdvanceModule {}
