import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { Baseline, BaselineInput, BaselinePath, BaselineSummary } from './baseline.models.js';
import { BaselinesService } from './baselines.service.js';
import { BaselineEncountered, BaselineStripPiece } from './encountered.models.js';
import { EncounteredService } from './encountered.service.js';

@ApiTags('Baseline')
@Controller('v1/projects/:project/drives/:drive/baselines')
export class BaselinesController {
  constructor(
    private readonly baselines: BaselinesService,
    private readonly met: EncounteredService,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer('The baselines of a drive', [BaselineSummary])
  list(@Param() { drive }: DrivePath): Promise<BaselineSummary[]> {
    return this.baselines.list(drive);
  }

  @Permit('record.read')
  @Get(':baseline')
  @Answer('One baseline', Baseline)
  get(@Param() { drive, baseline }: BaselinePath): Promise<Baseline> {
    return this.baselines.get(drive, baseline);
  }

  @Permit('catalogue.write')
  @Put(':baseline')
  @Answer('Creates or replaces a baseline', Baseline)
  put(@Param() { drive, baseline }: BaselinePath, @Body() input: BaselineInput): Promise<Baseline> {
    return this.baselines.put(drive, baseline, input);
  }

  @Permit('catalogue.write')
  @Delete(':baseline')
  @HttpCode(204)
  @Answer('Removes a baseline')
  async remove(@Param() { drive, baseline }: BaselinePath): Promise<void> {
    await this.baselines.remove(drive, baseline);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':baseline/encountered')
  @Answer('Baseline against encountered ground, by ground class and as a cross table', BaselineEncountered)
  encountered(@Param() { drive, baseline }: BaselinePath): Promise<BaselineEncountered> {
    return this.met.encountered(drive, baseline);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':baseline/strip')
  @Answer('Class of the baseline and governing class along the drive, from its start to the face', [
    BaselineStripPiece,
  ])
  strip(@Param() { drive, baseline }: BaselinePath): Promise<JsonRows<BaselineStripPiece>> {
    return this.met.strip(drive, baseline);
  }
}
