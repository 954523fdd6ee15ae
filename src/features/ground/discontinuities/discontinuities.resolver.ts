import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { ChainageWindow, WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { DiscontinuitiesService } from './discontinuities.service.js';
import {
  Discontinuity,
  DiscontinuityInput,
  DiscontinuityPath,
  DiscontinuitySheetInput,
  DiscontinuitySheetReceipt,
} from './discontinuity.models.js';
import { DiscontinuitySets } from './discontinuity-set.models.js';
import { OrientationsService } from './orientations.service.js';

const DiscontinuityConnection = connectionOf(Discontinuity, 'Discontinuity');

@Resolver(() => Drive)
export class DiscontinuitiesResolver {
  constructor(
    private readonly service: DiscontinuitiesService,
    private readonly orientations: OrientationsService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => DiscontinuityConnection, {
    description: 'The discontinuities, or those of a part of the drive, along the drive; a page at a time',
  })
  async discontinuities(
    @Parent() { code }: Drive,
    @Args() page: WindowPage,
  ): Promise<InstanceType<typeof DiscontinuityConnection>> {
    return connected(await this.service.page(code, page), 'name');
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => DiscontinuitySets, {
    description:
      'Mean orientation, concentration and spacing of each set of discontinuities, in all of the drive or a part',
  })
  discontinuitySets(@Parent() { code }: Drive, @Args() window: ChainageWindow): Promise<DiscontinuitySets> {
    return this.orientations.sets(code, window);
  }

  @Permit('geology.write')
  @Mutation(() => Discontinuity, { description: 'Creates or replaces a discontinuity' })
  putDiscontinuity(
    @Args() { drive, name }: DiscontinuityPath,
    @Args('input', { description: 'Its new content' }) input: DiscontinuityInput,
  ): Promise<Discontinuity> {
    return this.service.put(drive, name, input);
  }

  @Permit('geology.write')
  @Mutation(() => DiscontinuitySheetReceipt, {
    description: 'Creates or replaces the discontinuities of a sheet by their names, all or none',
  })
  postDiscontinuities(
    @Args() { drive }: DrivePath,
    @Args('sheet', { description: 'All of them; accepted or refused together' })
    sheet: DiscontinuitySheetInput,
  ): Promise<DiscontinuitySheetReceipt> {
    return this.service.putSheet(drive, sheet);
  }

  @Permit('geology.write')
  @Mutation(() => Boolean, { description: 'Removes a discontinuity' })
  async removeDiscontinuity(@Args() { drive, name }: DiscontinuityPath): Promise<boolean> {
    await this.service.remove(drive, name);
    return true;
  }
}
