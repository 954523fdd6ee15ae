import { Module } from '@nestjs/common';
import { ClassDecisionsController } from './class-decisions.controller.js';
import { ClassDecisionsResolver } from './class-decisions.resolver.js';
import { ClassDecisionsService } from './class-decisions.service.js';
import { GroundStripController } from './ground-strip.controller.js';
import { GroundStripResolver } from './ground-strip.resolver.js';
import { GroundStripService } from './ground-strip.service.js';

@Module({
  controllers: [ClassDecisionsController, GroundStripController],
  providers: [ClassDecisionsService, ClassDecisionsResolver, GroundStripService, GroundStripResolver],
})
export class ClassesModule {}
