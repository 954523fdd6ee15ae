import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonText } from '../../../common/database/json-rows.js';
import { SupportGapReport } from './gaps.models.js';
import { GapsService } from './gaps.service.js';
import { MissingSupportArgs, MissingSupportReport, RequiredSupportReport } from './missing-support.models.js';
import { MissingSupportService } from './missing-support.service.js';
import { BeforeNextStroke, NextStrokeArgs, UnsupportedLength } from './unsupported.models.js';
import { UnsupportedService } from './unsupported.service.js';

@ApiTags('Support demanded')
@Heavy()
@Controller('v1/projects/:project/drives/:drive')
export class MissingSupportController {
  constructor(
    private readonly support: MissingSupportService,
    private readonly behind: UnsupportedService,
    private readonly gaps: GapsService,
  ) {}

  @Permit('record.read')
  @Get('required-support')
  @Answer('What demands support along the driven length', RequiredSupportReport)
  required(@Param() { drive }: DrivePath): Promise<JsonText<RequiredSupportReport>> {
    return this.support.required(drive);
  }

  @Permit('record.read')
  @Get('missing-support')
  @Answer(
    'Support required against installed, by intervals on round chainages or between two places',
    MissingSupportReport,
  )
  missing(
    @Param() { drive }: DrivePath,
    @Query() args: MissingSupportArgs,
  ): Promise<JsonText<MissingSupportReport>> {
    return this.support.missing(drive, args);
  }

  @Permit('record.read')
  @Get('support-gaps')
  @Answer('Where pieces stand farther apart than the spacing that is demanded', SupportGapReport)
  supportGaps(@Param() { drive }: DrivePath): Promise<SupportGapReport> {
    return this.gaps.list(drive);
  }

  @Permit('record.read')
  @Get('unsupported-length')
  @Answer('Unsupported length behind the face, by zone', UnsupportedLength)
  unsupported(@Param() { drive }: DrivePath): Promise<UnsupportedLength> {
    return this.behind.length(drive);
  }

  @Permit('record.read')
  @Get('before-next-stroke')
  @Answer('What must still be installed before the next stroke', BeforeNextStroke)
  beforeNextStroke(
    @Param() { drive }: DrivePath,
    @Query() { strokeLengthM }: NextStrokeArgs,
  ): Promise<JsonText<BeforeNextStroke>> {
    return this.behind.beforeNextStroke(drive, strokeLengthM);
  }
}
