import { Args, ArgsType, Context, Resolver, Subscription } from '@nestjs/graphql';
import type { SocketContext } from '../../../common/api/graphql-sockets.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { DriveProgress } from '../../site/drives/drive.model.js';
import { AcceptedShift } from './live.models.js';
import { LiveService } from './live.service.js';
import { SinceField } from './since-field.js';

const itself = <T>(value: T): T => value;

@ArgsType()
class AcceptedArgs extends DrivePath {
  @SinceField()
  since?: number;
}

@Resolver()
export class LiveResolver {
  constructor(private readonly live: LiveService) {}

  @Permit('record.read')
  @Subscription(() => AcceptedShift, {
    description:
      'Each shift of the drive that is posted, replaced, countersigned or reopened, from now on or since a change',
    resolve: itself,
  })
  shiftAccepted(
    @Args() { drive, since }: AcceptedArgs,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<AcceptedShift>> {
    return this.live.acceptedShifts(drive, authorization, since);
  }

  @Permit('record.read')
  @Subscription(() => DriveProgress, {
    description:
      'Where the face stands now, and again each time that it stands elsewhere; after a break, the first answer is all that was missed',
    resolve: itself,
  })
  facePosition(
    @Args() { drive }: DrivePath,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<DriveProgress>> {
    return this.live.facePositions(drive, authorization);
  }
}
