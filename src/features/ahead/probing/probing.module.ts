import { Module } from '@nestjs/common';
import { ProbingController } from './probing.controller.js';
import { ProbingResolver } from './probing.resolver.js';
import { ProbingService } from './probing.service.js';

@Module({ controllers: [ProbingController], providers: [ProbingService, ProbingResolver] })
export class ProbingModule {}
