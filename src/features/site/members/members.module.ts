import { Module } from '@nestjs/common';
import { MembersController } from './members.controller.js';
import { MembersResolver } from './members.resolver.js';
import { MembersService } from './members.service.js';

@Module({ controllers: [MembersController], providers: [MembersService, MembersResolver] })
export class MembersModule {}
