import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Project } from '../../site/projects/project.model.js';
import { DoubtLimitPath, DoubtLimits, DoubtLimitsInput } from './doubt-limits.models.js';
import { DoubtLimitsService } from './doubt-limits.service.js';
import { RecordDoubt } from './doubt.models.js';
import { DoubtsService } from './doubts.service.js';

@Resolver(() => Project)
export class DoubtLimitsResolver {
  constructor(private readonly limits: DoubtLimitsService) {}

  @Permit('record.read')
  @ResolveField(() => [DoubtLimits], { description: 'Plausibility limits' })
  doubtLimits(): Promise<DoubtLimits[]> {
    return this.limits.list();
  }

  @Permit('project.write')
  @Mutation(() => DoubtLimits, {
    description: 'Creates or replaces the limits of doubt from a date on; what is not given has its default',
  })
  putDoubtLimits(
    @Args() { validFrom }: DoubtLimitPath,
    @Args('input', { description: 'Its new content' }) input: DoubtLimitsInput,
  ): Promise<DoubtLimits> {
    return this.limits.put(validFrom, input);
  }

  @Permit('project.write')
  @Mutation(() => Boolean, { description: 'Removes the limits of doubt from a date on' })
  async removeDoubtLimits(@Args() { validFrom }: DoubtLimitPath): Promise<boolean> {
    await this.limits.remove(validFrom);
    return true;
  }
}

@Resolver(() => Drive)
export class RecordDoubtsResolver {
  constructor(private readonly doubts: DoubtsService) {}

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [RecordDoubt], {
    description: 'Implausible entries, confirmed or not; a date range selects by shift',
  })
  recordDoubts(@Parent() { code }: Drive, @Args() range: DateRange): Promise<RecordDoubt[]> {
    return this.doubts.ofDrive(code, range);
  }
}
