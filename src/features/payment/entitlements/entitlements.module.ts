import { Module } from '@nestjs/common';
import { EntitlementsController } from './entitlements.controller.js';
import { EntitlementsResolver } from './entitlements.resolver.js';
import { EntitlementsService } from './entitlements.service.js';

@Module({ controllers: [EntitlementsController], providers: [EntitlementsService, EntitlementsResolver] })
export class EntitlementsModule {}
