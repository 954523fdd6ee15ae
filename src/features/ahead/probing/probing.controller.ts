import { Body, Controller, Delete, Get, Header, HttpCode, Param, Put } from '@nestjs/common';
import { ApiProduces, ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { CodeField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { ProbeCover } from './probe-cover.model.js';
import { ProbeCoverService } from './probe-cover.service.js';
import { ProbeFanService } from './probe-fan.service.js';
import { ProbeHole, ProbeHoleInput } from './probe-hole.model.js';
import { ProbeRequirements, ProbeRequirementsInput } from './probe-requirement.models.js';
import { ProbeRequirementsService } from './probe-requirements.service.js';
import { ProbingService } from './probing.service.js';

const SVG = 'image/svg+xml';

class ProbeHolePath extends DrivePath {
  @CodeField({ description: 'Name of the hole' })
  name: string;
}

@ApiTags('Probing')
@Controller('v1/projects/:project/drives/:drive')
export class ProbingController {
  constructor(
    private readonly probing: ProbingService,
    private readonly covers: ProbeCoverService,
    private readonly fans: ProbeFanService,
    private readonly requirements: ProbeRequirementsService,
  ) {}

  @Permit('record.read')
  @Get('probe-holes')
  @Answer('The probe holes of a drive, by collar', [ProbeHole])
  list(@Param() { drive }: DrivePath): Promise<ProbeHole[]> {
    return this.probing.list(drive);
  }

  @Permit('record.read')
  @Get('probe-holes/:name')
  @Answer('One probe hole', ProbeHole)
  get(@Param() { drive, name }: ProbeHolePath): Promise<ProbeHole> {
    return this.probing.get(drive, name);
  }

  @Permit('probing.write')
  @Put('probe-holes/:name')
  @Answer('Creates or replaces a probe hole', ProbeHole)
  put(@Param() { drive, name }: ProbeHolePath, @Body() input: ProbeHoleInput): Promise<ProbeHole> {
    return this.probing.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete('probe-holes/:name')
  @HttpCode(204)
  @Answer('Removes a probe hole')
  async remove(@Param() { drive, name }: ProbeHolePath): Promise<void> {
    await this.probing.remove(drive, name);
  }

  @Permit('record.read')
  @Heavy()
  @Get('probe-cover')
  @Answer(
    'How far ahead of the face the ground is probed as required, how far the face may go, and why',
    ProbeCover,
  )
  cover(@Param() { drive }: DrivePath): Promise<ProbeCover> {
    return this.covers.get(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get('probe-fan.svg')
  @Header('content-type', `${SVG}; charset=utf-8`)
  @ApiProduces(SVG)
  @Answer('The probe holes that reach ahead of the face, drawn in section and in plan', String)
  fan(@Param() { drive }: DrivePath): Promise<string> {
    return this.fans.get(drive);
  }

  @Permit('record.read')
  @Get('probe-requirements')
  @Answer('What probing is required ahead of the face', ProbeRequirements)
  getRequirements(@Param() { drive }: DrivePath): Promise<ProbeRequirements> {
    return this.requirements.get(drive);
  }

  @Permit('catalogue.write')
  @Put('probe-requirements')
  @Answer(
    'Puts the requirements of a drive, or replaces the revision valid from the same day',
    ProbeRequirements,
  )
  putRequirements(
    @Param() { drive }: DrivePath,
    @Body() input: ProbeRequirementsInput,
  ): Promise<ProbeRequirements> {
    return this.requirements.put(drive, input);
  }
}
