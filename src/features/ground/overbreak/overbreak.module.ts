import { Module } from '@nestjs/common';
import { OverbreakController } from './overbreak.controller.js';
import { OverbreakResolver } from './overbreak.resolver.js';
import { OverbreakService } from './overbreak.service.js';

@Module({ controllers: [OverbreakController], providers: [OverbreakService, OverbreakResolver] })
export class OverbreakModule {}
