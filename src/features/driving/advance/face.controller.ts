import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import {
  FaceArgs,
  FacePosition,
  RollingAdvance,
  RollingArgs,
  WindowAdvance,
  WindowArgs,
} from './face.models.js';
import { FaceService } from './face.service.js';

@ApiTags('Advance')
@Controller('v1/projects/:project/drives/:drive')
export class FaceController {
  constructor(private readonly face: FaceService) {}

  @Permit('record.read')
  @Get('face')
  @Answer('Where the face stood at a moment', FacePosition)
  at(@Param() { drive }: DrivePath, @Query() args: FaceArgs): Promise<FacePosition> {
    return this.face.at(drive, args);
  }

  @Permit('record.read')
  @Heavy()
  @Get('advance/window')
  @Answer('Advance from one moment to another', WindowAdvance)
  between(@Param() { drive }: DrivePath, @Query() args: WindowArgs): Promise<WindowAdvance> {
    return this.face.between(drive, args);
  }

  @Permit('record.read')
  @Heavy()
  @Get('advance/rolling')
  @Answer(
    'Advance in each window of the given hours that begins or ends with a boring; the largest windows are among them. ' +
      'With dates: those that end within these production days',
    [RollingAdvance],
  )
  rolling(@Param() { drive }: DrivePath, @Query() args: RollingArgs): Promise<JsonRows<RollingAdvance>> {
    return this.face.rolling(drive, args);
  }
}
