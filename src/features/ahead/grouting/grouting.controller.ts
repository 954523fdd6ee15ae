import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { TimedPageArgs } from '../water/inflow.models.js';
import {
  GroutingRound,
  GroutingRoundInput,
  GroutingRoundPage,
  GroutingRoundPath,
} from './grouting.models.js';
import { GroutingService } from './grouting.service.js';

@ApiTags('Grouting')
@Controller('v1/projects/:project/drives/:drive')
export class GroutingController {
  constructor(private readonly grouting: GroutingService) {}

  @Permit('record.read')
  @Get('grouting-rounds')
  @Answer(
    'The grouting rounds of a drive with what they took, without their holes, by time; a page at a time',
    GroutingRoundPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: TimedPageArgs): Promise<GroutingRoundPage> {
    return this.grouting.page(drive, page);
  }

  @Permit('record.read')
  @Get('grouting-rounds/:name')
  @Answer('One grouting round', GroutingRound)
  get(@Param() { drive, name }: GroutingRoundPath): Promise<GroutingRound> {
    return this.grouting.get(drive, name);
  }

  @Permit('probing.write')
  @Put('grouting-rounds/:name')
  @Answer('Creates or replaces a grouting round, with its holes', GroutingRound)
  put(
    @Param() { drive, name }: GroutingRoundPath,
    @Body() input: GroutingRoundInput,
  ): Promise<GroutingRound> {
    return this.grouting.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete('grouting-rounds/:name')
  @HttpCode(204)
  @Answer('Removes a grouting round')
  async remove(@Param() { drive, name }: GroutingRoundPath): Promise<void> {
    await this.grouting.remove(drive, name);
  }
}
