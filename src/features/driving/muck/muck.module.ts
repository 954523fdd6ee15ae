import { Module } from '@nestjs/common';
import { MuckController } from './muck.controller.js';
import { MuckResolver } from './muck.resolver.js';
import { MuckService } from './muck.service.js';

@Module({ controllers: [MuckController], providers: [MuckService, MuckResolver] })
export class MuckModule {}
