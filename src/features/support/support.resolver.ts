import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Drive } from '../drives/drive.model.js';
import {
  IntervalArgs,
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  SupportQuantity,
} from './support.models.js';
import { SupportService } from './support.service.js';

@Resolver(() => Drive)
export class SupportResolver {
  constructor(private readonly support: SupportService) {}

  @ResolveField(() => [SupportQuantity], { description: 'Support installed by item and zone' })
  supportQuantities(@Parent() { project, code }: Drive): Promise<SupportQuantity[]> {
    return this.support.total(project, code);
  }

  @ResolveField(() => [SupportByDay], { description: 'Support installed by production day, item and zone' })
  supportByDay(@Parent() { project, code }: Drive): Promise<SupportByDay[]> {
    return this.support.byDay(project, code);
  }

  @ResolveField(() => [SupportByGroundClass], {
    description: 'Support installed by ground class, item and zone',
  })
  supportByGroundClass(@Parent() { project, code }: Drive): Promise<SupportByGroundClass[]> {
    return this.support.byGroundClass(project, code);
  }

  @ResolveField(() => [SupportByInterval], {
    description: 'Support installed by intervals on round chainages, item and zone',
  })
  supportByInterval(
    @Parent() { project, code }: Drive,
    @Args() { lengthM }: IntervalArgs,
  ): Promise<SupportByInterval[]> {
    return this.support.byInterval(project, code, lengthM ?? 10);
  }
}
