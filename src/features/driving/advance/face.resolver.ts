import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  FaceArgs,
  FacePosition,
  RollingAdvance,
  RollingArgs,
  WindowAdvance,
  WindowArgs,
} from './face.models.js';
import { FaceService } from './face.service.js';

@Resolver(() => Drive)
export class FaceResolver {
  constructor(private readonly face: FaceService) {}

  @Permit('record.read')
  @ResolveField(() => FacePosition, { description: 'Where the face stood at a moment' })
  faceAt(@Parent() { code }: Drive, @Args() args: FaceArgs): Promise<FacePosition> {
    return this.face.at(code, args);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => WindowAdvance, { description: 'Advance from one moment to another' })
  advanceBetween(@Parent() { code }: Drive, @Args() args: WindowArgs): Promise<WindowAdvance> {
    return this.face.between(code, args);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [RollingAdvance], {
    description:
      'Advance in each window of the given hours that begins or ends with a boring; the largest windows are among them. ' +
      'With dates: those that end within these production days',
  })
  async rollingAdvance(@Parent() { code }: Drive, @Args() args: RollingArgs): Promise<RollingAdvance[]> {
    return (await this.face.rolling(code, args)).rowsInTurns();
  }
}
