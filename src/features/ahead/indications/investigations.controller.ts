import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ChainageWindow, WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Investigation,
  InvestigationInput,
  InvestigationPage,
  InvestigationPath,
} from './investigation.models.js';
import { InvestigationsService } from './investigations.service.js';
import { EncounterOutcome, IndicationOutcome, IndicationScore } from './outcome.models.js';
import { OutcomesService } from './outcomes.service.js';

@ApiTags('Indications')
@Controller('v1/projects/:project/drives/:drive')
export class InvestigationsController {
  constructor(
    private readonly investigations: InvestigationsService,
    private readonly outcomes: OutcomesService,
  ) {}

  @Permit('record.read')
  @Get('investigations')
  @Answer(
    'The investigations of the ground ahead, or those that touch a part of the drive; a page at a time',
    InvestigationPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: WindowPage): Promise<InvestigationPage> {
    return this.investigations.page(drive, page);
  }

  @Permit('record.read')
  @Get('investigations/:name')
  @Answer('One investigation', Investigation)
  get(@Param() { drive, name }: InvestigationPath): Promise<Investigation> {
    return this.investigations.get(drive, name);
  }

  @Permit('probing.write')
  @Put('investigations/:name')
  @Answer('Creates or replaces an investigation with what it indicates', Investigation)
  put(
    @Param() { drive, name }: InvestigationPath,
    @Body() input: InvestigationInput,
  ): Promise<Investigation> {
    return this.investigations.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete('investigations/:name')
  @HttpCode(204)
  @Answer('Removes an investigation')
  async remove(@Param() { drive, name }: InvestigationPath): Promise<void> {
    await this.investigations.remove(drive, name);
  }

  @Permit('record.read')
  @Heavy()
  @Get('indications')
  @Answer('The indications of a drive, or of a part of it, and how each turned out', [IndicationOutcome])
  indications(@Param() { drive }: DrivePath, @Query() window: ChainageWindow): Promise<IndicationOutcome[]> {
    return this.outcomes.indications(drive, window);
  }

  @Permit('record.read')
  @Heavy()
  @Get('encounter-outcomes')
  @Answer('What was met in a drive, or in a part of it, against each investigation that looked there', [
    EncounterOutcome,
  ])
  encounters(@Param() { drive }: DrivePath, @Query() window: ChainageWindow): Promise<EncounterOutcome[]> {
    return this.outcomes.encounters(drive, window);
  }

  @Permit('record.read')
  @Heavy()
  @Get('indication-scores')
  @Answer('How the indications of each method turned out', [IndicationScore])
  scores(@Param() { drive }: DrivePath): Promise<IndicationScore[]> {
    return this.outcomes.scores(drive);
  }
}
