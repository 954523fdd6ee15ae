import { Controller, Get, Param } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { ClassDecisionGap, GroundStripPiece, GoverningClass } from './ground-strip.models.js';
import { GroundStripService } from './ground-strip.service.js';

@ApiTags('Ground classes')
@Heavy()
@Controller('v1/projects/:project/drives/:drive')
export class GroundStripController {
  constructor(private readonly ground: GroundStripService) {}

  @Permit('record.read')
  @Get('class-decision-gaps')
  @Answer('Driven metres without an agreed class decision', [ClassDecisionGap])
  gaps(@Param() { drive }: DrivePath): Promise<JsonRows<ClassDecisionGap>> {
    return this.ground.gaps(drive);
  }

  @Permit('record.read')
  @Get('governing-classes')
  @Answer('The ground class that counts, along the drive, and what it rests on', [GoverningClass])
  governing(@Param() { drive }: DrivePath): Promise<JsonRows<GoverningClass>> {
    return this.ground.governing(drive);
  }

  @Permit('record.read')
  @Get('ground-strip')
  @Answer('Lithology and class along the drive, from its start to the face', [GroundStripPiece])
  strip(@Param() { drive }: DrivePath): Promise<JsonRows<GroundStripPiece>> {
    return this.ground.strip(drive);
  }
}
