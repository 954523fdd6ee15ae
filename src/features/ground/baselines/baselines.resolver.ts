import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { pageOf } from '../../../common/api/paging.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  Baseline,
  BaselineArgs,
  BaselineInput,
  BaselinePageArgs,
  BaselinePath,
  BaselineSummary,
} from './baseline.models.js';
import { BaselinesService } from './baselines.service.js';
import { BaselineEncountered, BaselineStripPiece } from './encountered.models.js';
import { EncounteredService } from './encountered.service.js';

const BaselineStripPieceConnection = connectionOf(BaselineStripPiece, 'BaselineStripPiece');

@Resolver(() => Drive)
export class BaselinesResolver {
  constructor(
    private readonly service: BaselinesService,
    private readonly met: EncounteredService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [BaselineSummary], { description: 'The baselines' })
  baselines(@Parent() { code }: Drive): Promise<BaselineSummary[]> {
    return this.service.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => Baseline, { description: 'One baseline' })
  baseline(@Parent() { code }: Drive, @Args() { baseline }: BaselineArgs): Promise<Baseline> {
    return this.service.get(code, baseline);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => BaselineEncountered, {
    description: 'Baseline against encountered ground, by ground class and as a cross table',
  })
  baselineEncountered(
    @Parent() { code }: Drive,
    @Args() { baseline }: BaselineArgs,
  ): Promise<BaselineEncountered> {
    return this.met.encountered(code, baseline);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => BaselineStripPieceConnection, {
    description: 'Class of the baseline and governing class along the drive; a page at a time',
  })
  async baselineStrip(
    @Parent() { code }: Drive,
    @Args() { baseline, ...page }: BaselinePageArgs,
  ): Promise<InstanceType<typeof BaselineStripPieceConnection>> {
    return connected(await this.met.stripPage(code, baseline, pageOf(page, 0)), 'number');
  }

  @Permit('catalogue.write')
  @Mutation(() => Baseline, { description: 'Creates or replaces a baseline' })
  putBaseline(
    @Args() { drive, baseline }: BaselinePath,
    @Args('input', { description: 'Its new content' }) input: BaselineInput,
  ): Promise<Baseline> {
    return this.service.put(drive, baseline, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a baseline' })
  async removeBaseline(@Args() { drive, baseline }: BaselinePath): Promise<boolean> {
    await this.service.remove(drive, baseline);
    return true;
  }
}
