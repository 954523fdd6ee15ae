import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { ClassDecisionGap, GroundStripPiece, GoverningClass } from './ground-strip.models.js';
import { GroundStripService } from './ground-strip.service.js';

const GoverningClassConnection = connectionOf(GoverningClass, 'GoverningClass');

const GroundStripPieceConnection = connectionOf(GroundStripPiece, 'GroundStripPiece');

@Heavy()
@Resolver(() => Drive)
export class GroundStripResolver {
  constructor(private readonly ground: GroundStripService) {}

  @Permit('record.read')
  @ResolveField(() => [ClassDecisionGap], {
    description: 'Driven metres without an agreed class decision',
  })
  async classDecisionGaps(@Parent() { code }: Drive): Promise<ClassDecisionGap[]> {
    return (await this.ground.gaps(code)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => GoverningClassConnection, {
    description: 'The ground class that counts, along the drive, and what it rests on; a page at a time',
  })
  async governingClasses(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof GoverningClassConnection>> {
    return connected(await this.ground.governingPage(code, pageOf(page, 0)), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => GroundStripPieceConnection, {
    description: 'Lithology and class along the drive, from its start to the face; a page at a time',
  })
  async groundStrip(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof GroundStripPieceConnection>> {
    return connected(await this.ground.stripPage(code, pageOf(page, 0)), 'number');
  }
}
