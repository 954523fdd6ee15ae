import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../../common/api/fields.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  MeasurementCheck,
  MeasurementRule,
  MeasurementRuleInput,
  PayItemPath,
  UntilArgs,
} from './measurement.models.js';
import { MeasurementService } from './measurement.service.js';

@ArgsType()
class BillVersionArgs {
  @CodeField({ description: 'Version of the bill' })
  version: string;
}

@Resolver(() => Drive)
export class MeasurementResolver {
  constructor(private readonly service: MeasurementService) {}

  @Permit('record.read')
  @ResolveField(() => [MeasurementRule], { description: 'How the items of a bill are measured' })
  measurementRules(
    @Parent() { code }: Drive,
    @Args() { version }: BillVersionArgs,
  ): Promise<MeasurementRule[]> {
    return this.service.list(code, version);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => MeasurementCheck, {
    description: 'What the rules measure until a date; unmeasured and doubly measured records',
  })
  measurementCheck(@Parent() { code }: Drive, @Args() { until }: UntilArgs): Promise<MeasurementCheck> {
    return this.service.check(code, until);
  }

  @Permit('bill.write')
  @Mutation(() => MeasurementRule, {
    description: 'Sets how an item is measured; not for a bill that certified valuations use',
  })
  putBillRule(
    @Args() { drive, version, reference }: PayItemPath,
    @Args('input', { description: 'Its new content' }) input: MeasurementRuleInput,
  ): Promise<MeasurementRule> {
    return this.service.put(drive, version, reference, input);
  }

  @Permit('bill.write')
  @Mutation(() => Boolean, { description: 'Removes the measurement rule of an item' })
  async removeBillRule(@Args() { drive, version, reference }: PayItemPath): Promise<boolean> {
    await this.service.remove(drive, version, reference);
    return true;
  }
}
