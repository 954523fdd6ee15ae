import { Module } from '@nestjs/common';
import { RatingTablesController } from './rating-tables.controller.js';
import { RatingTablesResolver } from './rating-tables.resolver.js';
import { RatingTablesService } from './rating-tables.service.js';

@Module({ controllers: [RatingTablesController], providers: [RatingTablesService, RatingTablesResolver] })
export class RatingTablesModule {}
