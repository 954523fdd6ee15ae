import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField } from '../../../common/api/fields.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  InflowInterval,
  InflowIntervalArgs,
  InflowMeasurement,
  InflowMeasurementInput,
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

const InflowMeasurementConnection = connectionOf(InflowMeasurement, 'InflowMeasurement');

@ArgsType()
class InflowMeasurementArgs {
  @CodeField({ description: 'Name of the measurement' })
  name: string;
}

@Resolver(() => Drive)
export class InflowResolver {
  constructor(
    private readonly inflow: InflowService,
    private readonly limits: WaterLimitsService,
    private readonly estimates: InflowEstimateService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => InflowEstimate, {
    description: 'Inflow by Goodman that a conductivity and a head suggest',
  })
  inflowEstimate(@Parent() { code }: Drive, @Args() asked: InflowEstimateArgs): Promise<InflowEstimate> {
    return this.estimates.estimate(code, asked);
  }

  @Permit('record.read')
  @ResolveField(() => InflowMeasurementConnection, {
    description: 'Measurements of the water that flows in, by time; a page at a time',
  })
  async inflowMeasurements(
    @Parent() { code }: Drive,
    @Args() page: TimedPageArgs,
  ): Promise<InstanceType<typeof InflowMeasurementConnection>> {
    return connected(await this.inflow.page(code, page), 'name');
  }

  @Permit('record.read')
  @ResolveField(() => InflowMeasurement, { description: 'One measurement of inflow' })
  inflowMeasurement(
    @Parent() { code }: Drive,
    @Args() { name }: InflowMeasurementArgs,
  ): Promise<InflowMeasurement> {
    return this.inflow.get(code, name);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [InflowStretch], {
    description: 'Inflow along the drive, cumulated from its start, with gaps and overlaps',
  })
  inflowStretches(@Parent() { code }: Drive): Promise<InflowStretch[]> {
    return this.inflow.stretches(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [InflowInterval], { description: 'Inflow by intervals on round chainages' })
  inflowByInterval(@Parent() { code }: Drive, @Args() asked: InflowIntervalArgs): Promise<InflowInterval[]> {
    return this.inflow.byInterval(code, asked);
  }

  @Permit('record.read')
  @ResolveField(() => [InflowOfHole], { description: 'The latest inflow of each hole, by name' })
  inflowOfHoles(@Parent() { code }: Drive): Promise<InflowOfHole[]> {
    return this.inflow.ofHoles(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => InflowTotal, {
    description: 'Inflow of the drive in all, against the portal and the pumps',
  })
  inflowTotal(@Parent() { code }: Drive): Promise<InflowTotal> {
    return this.inflow.total(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [InflowOverTrigger], { description: 'The triggers of inflow that are exceeded' })
  inflowOverTrigger(@Parent() { code }: Drive): Promise<InflowOverTrigger[]> {
    return this.inflow.overTrigger(code);
  }

  @Permit('record.read')
  @ResolveField(() => [WaterLimits], {
    description: 'Triggers of inflow and pumping capacity, by the date from which they are in force',
  })
  waterLimits(@Parent() { code }: Drive): Promise<WaterLimits[]> {
    return this.limits.list(code);
  }

  @Permit('probing.write')
  @Mutation(() => InflowMeasurement, { description: 'Creates or replaces a measurement of inflow' })
  putInflowMeasurement(
    @Args() { drive, name }: InflowPath,
    @Args('input', { description: 'Its new content' }) input: InflowMeasurementInput,
  ): Promise<InflowMeasurement> {
    return this.inflow.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes a measurement of inflow' })
  async removeInflowMeasurement(@Args() { drive, name }: InflowPath): Promise<boolean> {
    await this.inflow.remove(drive, name);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => WaterLimits, {
    description: 'Creates or replaces triggers of inflow and pumping capacity from a date on',
  })
  putWaterLimits(
    @Args() { drive, validFrom }: WaterLimitPath,
    @Args('input', { description: 'Their new content' }) input: WaterLimitsInput,
  ): Promise<WaterLimits> {
    return this.limits.put(drive, validFrom, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes triggers of inflow and pumping capacity from a date on' })
  async removeWaterLimits(@Args() { drive, validFrom }: WaterLimitPath): Promise<boolean> {
    await this.limits.remove(drive, validFrom);
    return true;
  }
}
