import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  InflowInterval,
  InflowIntervalArgs,
  InflowMeasurement,
  InflowMeasurementInput,
  InflowMeasurementPage,
  InflowOfHole,
  InflowOverTrigger,
  TimedPageArgs,
  InflowPath,
  InflowStretch,
  InflowTotal,
} from './inflow.models.js';
import { InflowEstimate, InflowEstimateArgs } from './inflow-estimate.models.js';
import { InflowEstimateService } from './inflow-estimate.service.js';
import { InflowService } from './inflow.service.js';
import { WaterLimitPath, WaterLimits, WaterLimitsInput } from './water-limits.models.js';
import { WaterLimitsService } from './water-limits.service.js';

@ApiTags('Water')
@Controller('v1/projects/:project/drives/:drive')
export class InflowController {
  constructor(
    private readonly inflow: InflowService,
    private readonly limits: WaterLimitsService,
    private readonly estimates: InflowEstimateService,
  ) {}

  @Permit('record.read')
  @Get('inflow-measurements')
  @Answer(
    'Measurements of the water that flows into a drive, by time; a page at a time',
    InflowMeasurementPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: TimedPageArgs): Promise<InflowMeasurementPage> {
    return this.inflow.page(drive, page);
  }

  @Permit('record.read')
  @Get('inflow-measurements/:name')
  @Answer('One measurement of inflow', InflowMeasurement)
  get(@Param() { drive, name }: InflowPath): Promise<InflowMeasurement> {
    return this.inflow.get(drive, name);
  }

  @Permit('probing.write')
  @Put('inflow-measurements/:name')
  @Answer('Creates or replaces a measurement of inflow', InflowMeasurement)
  put(
    @Param() { drive, name }: InflowPath,
    @Body() input: InflowMeasurementInput,
  ): Promise<InflowMeasurement> {
    return this.inflow.put(drive, name, input);
  }

  @Permit('probing.write')
  @Delete('inflow-measurements/:name')
  @HttpCode(204)
  @Answer('Removes a measurement of inflow')
  async remove(@Param() { drive, name }: InflowPath): Promise<void> {
    await this.inflow.remove(drive, name);
  }

  @Permit('record.read')
  @Heavy()
  @Get('inflow-stretches')
  @Answer('Inflow along the drive, cumulated from its start, with gaps and overlaps', [InflowStretch])
  stretches(@Param() { drive }: DrivePath): Promise<InflowStretch[]> {
    return this.inflow.stretches(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get('inflow/intervals')
  @Answer('Inflow by intervals on round chainages', [InflowInterval])
  byInterval(@Param() { drive }: DrivePath, @Query() asked: InflowIntervalArgs): Promise<InflowInterval[]> {
    return this.inflow.byInterval(drive, asked);
  }

  @Permit('record.read')
  @Get('inflow-of-holes')
  @Answer('The latest inflow of each hole, by name', [InflowOfHole])
  ofHoles(@Param() { drive }: DrivePath): Promise<InflowOfHole[]> {
    return this.inflow.ofHoles(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get('inflow-total')
  @Answer('Inflow of the drive in all, against the portal and the pumps', InflowTotal)
  total(@Param() { drive }: DrivePath): Promise<InflowTotal> {
    return this.inflow.total(drive);
  }

  @Permit('record.read')
  @Heavy()
  @Get('inflow-over-trigger')
  @Answer('The triggers of inflow that are exceeded', [InflowOverTrigger])
  overTrigger(@Param() { drive }: DrivePath): Promise<InflowOverTrigger[]> {
    return this.inflow.overTrigger(drive);
  }

  @Permit('record.read')
  @Get('inflow-estimate')
  @Answer('Inflow by Goodman that a conductivity and a head suggest', InflowEstimate)
  estimate(@Param() { drive }: DrivePath, @Query() asked: InflowEstimateArgs): Promise<InflowEstimate> {
    return this.estimates.estimate(drive, asked);
  }

  @Permit('record.read')
  @Get('water-limits')
  @Answer('Triggers of inflow and pumping capacity, by the date from which they are in force', [WaterLimits])
  limitsOf(@Param() { drive }: DrivePath): Promise<WaterLimits[]> {
    return this.limits.list(drive);
  }

  @Permit('record.read')
  @Get('water-limits/:validFrom')
  @Answer('Those in force from one date', WaterLimits)
  limit(@Param() { drive, validFrom }: WaterLimitPath): Promise<WaterLimits> {
    return this.limits.get(drive, validFrom);
  }

  @Permit('catalogue.write')
  @Put('water-limits/:validFrom')
  @Answer('Creates or replaces those in force from a date', WaterLimits)
  putLimit(
    @Param() { drive, validFrom }: WaterLimitPath,
    @Body() input: WaterLimitsInput,
  ): Promise<WaterLimits> {
    return this.limits.put(drive, validFrom, input);
  }

  @Permit('catalogue.write')
  @Delete('water-limits/:validFrom')
  @HttpCode(204)
  @Answer('Removes those in force from a date')
  async removeLimit(@Param() { drive, validFrom }: WaterLimitPath): Promise<void> {
    await this.limits.remove(drive, validFrom);
  }
}
