import { Module } from '@nestjs/common';
import { Connections } from '../../../common/api/connections.js';
import { GraphqlSockets } from '../../../common/api/graphql-sockets.js';
import { DrivesModule } from '../../site/drives/drives.module.js';
import { ChangeFeed } from './change-feed.service.js';
import { EventStreams } from './event-streams.service.js';
import { Followers } from './followers.service.js';
import { LiveResolver } from './live.resolver.js';
import { LiveService } from './live.service.js';

@Module({
  imports: [DrivesModule],
  providers: [ChangeFeed, Connections, EventStreams, Followers, LiveService, LiveResolver, GraphqlSockets],
  exports: [ChangeFeed, Connections, EventStreams, Followers],
})
export class LiveModule {}
