import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { TimedPageArgs } from './inflow.models.js';
import { WaterTest, WaterTestInput, WaterTestPath } from './water-tests.models.js';
import { WaterTestsService } from './water-tests.service.js';

const WaterTestConnection = connectionOf(WaterTest, 'WaterTest');

@ArgsType()
class WaterTestArgs {
  @CodeField({ description: 'Name of the test' })
  name: string;
}

@Resolver(() => Drive)
export class WaterTestsResolver {
  constructor(private readonly tests: WaterTestsService) {}

  @Permit('record.read')
  @ResolveField(() => WaterTestConnection, { description: 'The water tests, by time; a page at a time' })
  async waterTests(
    @Parent() { code }: Drive,
    @Args() page: TimedPageArgs,
  ): Promise<InstanceType<typeof WaterTestConnection>> {
    return connected(await this.tests.page(code, page), 'name');
  }

  @Permit('record.read')
  @ResolveField(() => WaterTest, { description: 'One water test' })
  waterTest(@Parent() { code }: Drive, @Args() { name }: WaterTestArgs): Promise<WaterTest> {
    return this.tests.get(code, name);
  }

  @Permit('probing.write')
  @Mutation(() => WaterTest, { description: 'Creates or replaces a water test' })
  putWaterTest(
    @Args() { drive, name }: WaterTestPath,
    @Args('input', { description: 'Its new content' }) input: WaterTestInput,
  ): Promise<WaterTest> {
    return this.tests.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes a water test' })
  async removeWaterTest(@Args() { drive, name }: WaterTestPath): Promise<boolean> {
    await this.tests.remove(drive, name);
    return true;
  }
}
