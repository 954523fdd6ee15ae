import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { CodeField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  MeasurementCheck,
  MeasurementRule,
  MeasurementRuleInput,
  PayItemPath,
  UntilArgs,
} from './measurement.models.js';
import { MeasurementService } from './measurement.service.js';

class BillVersionPath extends DrivePath {
  @CodeField({ description: 'Version of the bill' })
  version: string;
}

@ApiTags('Measurement')
@Controller('v1/projects/:project/drives/:drive')
export class MeasurementController {
  constructor(private readonly measurement: MeasurementService) {}

  @Permit('record.read')
  @Heavy()
  @Get('measurement-check')
  @Answer('What the rules measure until a date; unmeasured and doubly measured records', MeasurementCheck)
  check(@Param() { drive }: DrivePath, @Query() { until }: UntilArgs): Promise<MeasurementCheck> {
    return this.measurement.check(drive, until);
  }

  @Permit('record.read')
  @Get('bills/:version/rules')
  @Answer('How the items of a bill are measured', [MeasurementRule])
  list(@Param() { drive, version }: BillVersionPath): Promise<MeasurementRule[]> {
    return this.measurement.list(drive, version);
  }

  @Permit('record.read')
  @Get('bills/:version/rules/:reference')
  @Answer('How an item is measured', MeasurementRule)
  get(@Param() { drive, version, reference }: PayItemPath): Promise<MeasurementRule> {
    return this.measurement.get(drive, version, reference);
  }

  @Permit('bill.write')
  @Put('bills/:version/rules/:reference')
  @Answer('Sets how an item is measured; not for a bill that certified valuations use', MeasurementRule)
  put(
    @Param() { drive, version, reference }: PayItemPath,
    @Body() input: MeasurementRuleInput,
  ): Promise<MeasurementRule> {
    return this.measurement.put(drive, version, reference, input);
  }

  @Permit('bill.write')
  @Delete('bills/:version/rules/:reference')
  @HttpCode(204)
  @Answer('Removes the measurement rule of an item')
  async remove(@Param() { drive, version, reference }: PayItemPath): Promise<void> {
    await this.measurement.remove(drive, version, reference);
  }
}
