import { Body, Controller, Delete, Get, Header, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Webhook,
  WebhookDelivery,
  WebhookDeliveryFilter,
  WebhookDeliveryPage,
  WebhookDeliveryPath,
  WebhookInput,
  WebhookPath,
  WebhookRotationInput,
  WebhookSecret,
} from './webhook.models.js';
import { WebhooksService } from './webhooks.service.js';

@ApiTags('Webhooks')
@Controller('v1/projects/:project/webhooks')
export class WebhooksController {
  constructor(private readonly webhooks: WebhooksService) {}

  @Permit('webhooks.read')
  @Get()
  @Answer('The webhooks of a project, by name', [Webhook])
  list(@Param() _path: ProjectPath): Promise<Webhook[]> {
    return this.webhooks.list();
  }

  @Permit('webhooks.read')
  @Get(':name')
  @Answer('One webhook', Webhook)
  get(@Param() { name }: WebhookPath): Promise<Webhook> {
    return this.webhooks.get(name);
  }

  @Permit('webhooks.write')
  @Put(':name')
  @Answer('Sets a webhook; a new one is sent nothing before it has a secret', Webhook)
  put(@Param() { name }: WebhookPath, @Body() input: WebhookInput): Promise<Webhook> {
    return this.webhooks.put(name, input);
  }

  @Permit('webhooks.write')
  @Delete(':name')
  @HttpCode(204)
  @Answer('Removes a webhook, and what was to be sent to it')
  async remove(@Param() { name }: WebhookPath): Promise<void> {
    await this.webhooks.remove(name);
  }

  @Permit('webhooks.write')
  @Post(':name/rotate-secret')
  @HttpCode(200)
  @Header('cache-control', 'no-store')
  @Answer('Makes a secret for a webhook, its first or another one; it is shown only this once', WebhookSecret)
  rotateSecret(@Param() { name }: WebhookPath, @Body() input: WebhookRotationInput): Promise<WebhookSecret> {
    return this.webhooks.rotateSecret(name, input);
  }

  @Permit('webhooks.write')
  @Post(':name/send-test')
  @HttpCode(200)
  @Answer('Sends a message of type webhook.test to a webhook, to try it', WebhookDelivery)
  sendTest(@Param() { name }: WebhookPath): Promise<WebhookDelivery> {
    return this.webhooks.sendTest(name);
  }

  @Permit('webhooks.read')
  @Get(':name/deliveries')
  @Answer('The messages to a webhook, by number, a page at a time', WebhookDeliveryPage)
  deliveries(
    @Param() { name }: WebhookPath,
    @Query() filter: WebhookDeliveryFilter,
  ): Promise<WebhookDeliveryPage> {
    return this.webhooks.deliveries(name, filter);
  }

  @Permit('webhooks.read')
  @Get(':name/deliveries/:number')
  @Answer('One message to a webhook', WebhookDelivery)
  delivery(@Param() { name, number }: WebhookDeliveryPath): Promise<WebhookDelivery> {
    return this.webhooks.delivery(name, number);
  }

  @Permit('webhooks.write')
  @Post(':name/deliveries/:number/redeliver')
  @HttpCode(200)
  @Answer('Sends a message again that was delivered or is dead', WebhookDelivery)
  redeliver(@Param() { name, number }: WebhookDeliveryPath): Promise<WebhookDelivery> {
    return this.webhooks.redeliver(name, number);
  }
}
