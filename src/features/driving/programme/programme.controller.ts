import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Programme,
  ProgrammeDay,
  ProgrammeInput,
  ProgrammePath,
  ProgrammeSummary,
} from './programme.models.js';
import { ProgrammeService } from './programme.service.js';

@ApiTags('Programme')
@Controller('v1/projects/:project/drives/:drive/programmes')
export class ProgrammeController {
  constructor(private readonly programmes: ProgrammeService) {}

  @Permit('record.read')
  @Get()
  @Answer('The programmes of a drive', [ProgrammeSummary])
  list(@Param() { drive }: DrivePath): Promise<ProgrammeSummary[]> {
    return this.programmes.list(drive);
  }

  @Permit('record.read')
  @Get(':programme')
  @Answer('One programme', Programme)
  get(@Param() { drive, programme }: ProgrammePath): Promise<Programme> {
    return this.programmes.get(drive, programme);
  }

  @Permit('catalogue.write')
  @Put(':programme')
  @Answer('Creates or replaces a programme', Programme)
  put(@Param() { drive, programme }: ProgrammePath, @Body() input: ProgrammeInput): Promise<Programme> {
    return this.programmes.put(drive, programme, input);
  }

  @Permit('catalogue.write')
  @Delete(':programme')
  @HttpCode(204)
  @Answer('Removes a programme')
  async remove(@Param() { drive, programme }: ProgrammePath): Promise<void> {
    await this.programmes.remove(drive, programme);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':programme/progress')
  @Answer('Plan against actual, by production day', [ProgrammeDay])
  progress(@Param() { drive, programme }: ProgrammePath): Promise<ProgrammeDay[]> {
    return this.programmes.progress(drive, programme);
  }
}
