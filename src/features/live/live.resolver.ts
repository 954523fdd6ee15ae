import { Args, Context, Resolver, Subscription } from '@nestjs/graphql';
import type { SocketContext } from '../../common/api/graphql-sockets.js';
import { DrivePath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { DriveProgress } from '../drives/drive.model.js';
import { AcceptedShift } from './live.models.js';
import { LiveService } from './live.service.js';

const itself = <T>(value: T): T => value;

@Resolver()
export class LiveResolver {
  constructor(private readonly live: LiveService) {}

  @Permit('record.read')
  @Subscription(() => AcceptedShift, {
    description: 'Each shift of the drive that is posted, replaced, countersigned or reopened from now on',
    resolve: itself,
  })
  shiftAccepted(
    @Args() { drive }: DrivePath,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<AcceptedShift>> {
    return this.live.acceptedShifts(drive, authorization);
  }

  @Permit('record.read')
  @Subscription(() => DriveProgress, {
    description: 'Where the face stands now, and again each time that it stands elsewhere',
    resolve: itself,
  })
  facePosition(
    @Args() { drive }: DrivePath,
    @Context() { authorization }: SocketContext,
  ): Promise<AsyncIterable<DriveProgress>> {
    return this.live.facePositions(drive, authorization);
  }
}
