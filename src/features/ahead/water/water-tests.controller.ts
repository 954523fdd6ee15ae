import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { TimedPageArgs } from './inflow.models.js';
import { WaterTest, WaterTestInput, WaterTestPage, WaterTestPath } from './water-tests.models.js';
import { WaterTestsService } from './water-tests.service.js';

@ApiTags('Water')
@Controller('v1/projects/:project/drives/:drive')
export class WaterTestsController {
  constructor(private readonly tests: WaterTestsService) {}

  @Permit('record.read')
  @Get('water-tests')
  @Answer('The water tests of a drive, by time; a page at a time', WaterTestPage)
  page(@Param() { drive }: DrivePath, @Query() page: TimedPageArgs): Promise<WaterTestPage> {
    return this.tests.page(drive, page);
  }

  @Permit('record.read')
  @Get('water-tests/:name')
  @Answer('One water test', WaterTest)
  get(@Param() { drive, name }: WaterTestPath): Promise<WaterTest> {
    return this.tests.get(drive, name);
  }

  @Permit('probing.write')
  @Put('water-tests/:name')
  @Answer('Creates or replaces a water test', WaterTest)
  put(@Param() { drive, name }: WaterTestPath, @Body() input: WaterTestInput): Promise<WaterTest> {
    return this.tests.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete('water-tests/:name')
  @HttpCode(204)
  @Answer('Removes a water test')
  async remove(@Param() { drive, name }: WaterTestPath): Promise<void> {
    await this.tests.remove(drive, name);
  }
}
