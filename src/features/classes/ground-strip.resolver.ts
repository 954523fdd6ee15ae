import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { PageArgs, pageOf } from '../../common/api/paging.js';
import { Heavy } from '../../common/auth/heavy.js';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { ClassDecisionGap, GroundStripPage, RulingClassPage } from './ground-strip.models.js';
import { GroundStripService } from './ground-strip.service.js';

@Heavy()
@Resolver(() => Drive)
export class GroundStripResolver {
  constructor(private readonly ground: GroundStripService) {}

  @Permit('record.read')
  @ResolveField(() => [ClassDecisionGap], {
    description: 'Driven metres without an agreed class decision',
  })
  async classDecisionGaps(@Parent() { code }: Drive): Promise<ClassDecisionGap[]> {
    return (await this.ground.gaps(code)).rows();
  }

  @Permit('record.read')
  @ResolveField(() => RulingClassPage, {
    description: 'The ground class that counts, along the drive, and what it rests on; a page at a time',
  })
  rulingClasses(@Parent() { code }: Drive, @Args() page: PageArgs): Promise<RulingClassPage> {
    return this.ground.rulingPage(code, pageOf(page, 0));
  }

  @Permit('record.read')
  @ResolveField(() => GroundStripPage, {
    description: 'Lithology and class along the drive, from its start to the face; a page at a time',
  })
  groundStrip(@Parent() { code }: Drive, @Args() page: PageArgs): Promise<GroundStripPage> {
    return this.ground.stripPage(code, pageOf(page, 0));
  }
}
