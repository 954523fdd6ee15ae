import { Module } from '@nestjs/common';
import { WebhookSender } from './webhook-sender.service.js';
import { WebhooksController } from './webhooks.controller.js';
import { WebhooksResolver } from './webhooks.resolver.js';
import { WebhooksService } from './webhooks.service.js';

@Module({
  controllers: [WebhooksController],
  providers: [WebhooksService, WebhooksResolver, WebhookSender],
})
export class WebhooksModule {}
