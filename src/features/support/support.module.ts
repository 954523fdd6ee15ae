import { Module } from '@nestjs/common';
import { SupportController } from './support.controller.js';
import { SupportResolver } from './support.resolver.js';
import { SupportService } from './support.service.js';

@Module({ controllers: [SupportController], providers: [SupportService, SupportResolver] })
export class SupportModule {}
