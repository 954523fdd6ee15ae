import { Module } from '@nestjs/common';
import { NoticesController } from './notices.controller.js';
import { NoticeRulesResolver, NoticesResolver } from './notices.resolver.js';
import { NoticesService } from './notices.service.js';

@Module({
  controllers: [NoticesController],
  providers: [NoticesService, NoticeRulesResolver, NoticesResolver],
})
export class NoticesModule {}
