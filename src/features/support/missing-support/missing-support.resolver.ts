import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { SupportGapReport } from './gaps.models.js';
import { GapsService } from './gaps.service.js';
import { MissingSupportArgs, MissingSupportReport, RequiredSupportReport } from './missing-support.models.js';
import { MissingSupportService } from './missing-support.service.js';
import { BeforeNextStroke, NextStrokeArgs, UnsupportedLength } from './unsupported.models.js';
import { UnsupportedService } from './unsupported.service.js';

@Heavy()
@Resolver(() => Drive)
export class MissingSupportResolver {
  constructor(
    private readonly support: MissingSupportService,
    private readonly behind: UnsupportedService,
    private readonly gaps: GapsService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => RequiredSupportReport, {
    description: 'What demands support along the driven length',
  })
  async requiredSupport(@Parent() { code }: Drive): Promise<RequiredSupportReport> {
    return (await this.support.required(code)).value();
  }

  @Permit('record.read')
  @ResolveField(() => MissingSupportReport, {
    description: 'Support required against installed, by intervals on round chainages or between two places',
  })
  async missingSupport(
    @Parent() { code }: Drive,
    @Args() args: MissingSupportArgs,
  ): Promise<MissingSupportReport> {
    return (await this.support.missing(code, args)).value();
  }

  @Permit('record.read')
  @ResolveField(() => SupportGapReport, {
    description: 'Where pieces stand farther apart than the spacing that is demanded',
  })
  supportGaps(@Parent() { code }: Drive): Promise<SupportGapReport> {
    return this.gaps.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => UnsupportedLength, { description: 'Unsupported length behind the face, by zone' })
  unsupportedLength(@Parent() { code }: Drive): Promise<UnsupportedLength> {
    return this.behind.length(code);
  }

  @Permit('record.read')
  @ResolveField(() => BeforeNextStroke, {
    description: 'What must still be installed before the next stroke',
  })
  async beforeNextStroke(
    @Parent() { code }: Drive,
    @Args() { strokeLengthM }: NextStrokeArgs,
  ): Promise<BeforeNextStroke> {
    return (await this.behind.beforeNextStroke(code, strokeLengthM)).value();
  }
}
