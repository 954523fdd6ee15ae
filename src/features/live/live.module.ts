import { Module } from '@nestjs/common';
import { GraphqlSockets } from '../../common/api/graphql-sockets.js';
import { DrivesModule } from '../drives/drives.module.js';
import { ChangeFeed } from './change-feed.service.js';
import { LiveResolver } from './live.resolver.js';
import { LiveService } from './live.service.js';

@Module({ imports: [DrivesModule], providers: [ChangeFeed, LiveService, LiveResolver, GraphqlSockets] })
export class LiveModule {}
