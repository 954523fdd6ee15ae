import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  HoldPoint,
  HoldPointInput,
  HoldPointPath,
  HoldPointReleaseInput,
  HoldPointWithdrawalInput,
} from './hold-point.models.js';
import { HoldPointsService } from './hold-points.service.js';

@Resolver(() => Drive)
export class HoldPointsResolver {
  constructor(private readonly points: HoldPointsService) {}

  @Permit('record.read')
  @ResolveField(() => [HoldPoint], { description: 'The hold points, along the drive' })
  holdPoints(@Parent() { code }: Drive): Promise<HoldPoint[]> {
    return this.points.list(code);
  }

  @Permit('hold_point.write')
  @Mutation(() => HoldPoint, {
    description: 'Sets a hold point; one that stands is replaced by the releasing side only',
  })
  putHoldPoint(
    @Args() { drive, code }: HoldPointPath,
    @Args('input', { description: 'Its new content' }) input: HoldPointInput,
  ): Promise<HoldPoint> {
    return this.points.put(drive, code, input);
  }

  @Permit('hold_point.write')
  @Mutation(() => Boolean, {
    description: 'Removes a hold point that was never released; by the releasing side only',
  })
  async removeHoldPoint(@Args() { drive, code }: HoldPointPath): Promise<boolean> {
    await this.points.remove(drive, code);
    return true;
  }

  @Permit('hold_point.release')
  @Mutation(() => HoldPoint, { description: 'Releases a hold point, for the releasing side' })
  releaseHoldPoint(
    @Args() { drive, code }: HoldPointPath,
    @Args('input', { description: 'When, and on what evidence' }) input: HoldPointReleaseInput,
  ): Promise<HoldPoint> {
    return this.points.release(drive, code, input);
  }

  @Permit('hold_point.release')
  @Mutation(() => HoldPoint, { description: 'Withdraws the release of a hold point, for a reason' })
  withdrawHoldPointRelease(
    @Args() { drive, code }: HoldPointPath,
    @Args('input', { description: 'Why' }) { reason }: HoldPointWithdrawalInput,
  ): Promise<HoldPoint> {
    return this.points.withdraw(drive, code, reason);
  }
}
