import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { SupportIntervalArgs } from '../../support/support/support.models.js';
import {
  OverbreakInput,
  OverbreakInterval,
  OverbreakItemWithDoubts,
  OverbreakPage,
  OverbreakPath,
  OverbreakTotal,
} from './overbreak.models.js';
import { OverbreakService } from './overbreak.service.js';

@ApiTags('Overbreak')
@Controller('v1/projects/:project/drives/:drive')
export class OverbreakController {
  constructor(private readonly overbreak: OverbreakService) {}

  @Permit('record.read')
  @Get('overbreak')
  @Answer(
    'The overbreak of a drive, or what touches a part of it, along the drive; a page at a time',
    OverbreakPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: WindowPage): Promise<OverbreakPage> {
    return this.overbreak.page(drive, page);
  }

  @Permit('record.read')
  @Get('overbreak/:name')
  @Answer('One item of overbreak', OverbreakItemWithDoubts)
  get(@Param() { drive, name }: OverbreakPath): Promise<OverbreakItemWithDoubts> {
    return this.overbreak.get(drive, name);
  }

  @Permit('geology.write')
  @Put('overbreak/:name')
  @Answer('Creates or replaces an item of overbreak', OverbreakItemWithDoubts)
  put(
    @Param() { drive, name }: OverbreakPath,
    @Body() input: OverbreakInput,
  ): Promise<OverbreakItemWithDoubts> {
    return this.overbreak.put(drive, name, input);
  }

  @Permit('geology.write')
  @Delete('overbreak/:name')
  @HttpCode(204)
  @Answer('Removes an item of overbreak')
  async remove(@Param() { drive, name }: OverbreakPath): Promise<void> {
    await this.overbreak.remove(drive, name);
  }

  @Permit('record.read')
  @Heavy()
  @Get('overbreak-quantities')
  @Answer('Overbreak by cause, against the theoretical volume of the metres surveyed', OverbreakTotal)
  total(@Param() { drive }: DrivePath): Promise<OverbreakTotal> {
    return this.overbreak.total(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get('overbreak-quantities/intervals')
  @Answer('Overbreak by intervals on round chainages and by cause', [OverbreakInterval])
  byInterval(
    @Param() { drive }: DrivePath,
    @Query() asked: SupportIntervalArgs,
  ): Promise<OverbreakInterval[]> {
    return this.overbreak.byInterval(drive, asked);
  }
}
