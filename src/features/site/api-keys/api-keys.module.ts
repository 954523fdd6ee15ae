import { Module } from '@nestjs/common';
import { ApiKeysController } from './api-keys.controller.js';
import { ApiKeysResolver } from './api-keys.resolver.js';
import { ApiKeysService } from './api-keys.service.js';

@Module({ controllers: [ApiKeysController], providers: [ApiKeysService, ApiKeysResolver] })
export class ApiKeysModule {}
