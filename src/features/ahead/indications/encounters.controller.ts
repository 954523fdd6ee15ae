import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Encounter, EncounterInput, EncounterPage, EncounterPath } from './encounter.models.js';
import { EncountersService } from './encounters.service.js';

@ApiTags('Indications')
@Controller('v1/projects/:project/drives/:drive/encounters')
export class EncountersController {
  constructor(private readonly encounters: EncountersService) {}

  @Permit('record.read')
  @Get()
  @Answer('What was met in the ground of a drive, or of a part of it; a page at a time', EncounterPage)
  page(@Param() { drive }: DrivePath, @Query() page: WindowPage): Promise<EncounterPage> {
    return this.encounters.page(drive, page);
  }

  @Permit('record.read')
  @Get(':name')
  @Answer('One encounter', Encounter)
  get(@Param() { drive, name }: EncounterPath): Promise<Encounter> {
    return this.encounters.get(drive, name);
  }

  @Permit('probing.write')
  @Put(':name')
  @Answer('Creates or replaces an encounter', Encounter)
  put(@Param() { drive, name }: EncounterPath, @Body() input: EncounterInput): Promise<Encounter> {
    return this.encounters.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete(':name')
  @HttpCode(204)
  @Answer('Removes an encounter')
  async remove(@Param() { drive, name }: EncounterPath): Promise<void> {
    await this.encounters.remove(drive, name);
  }
}
