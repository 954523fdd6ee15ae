import { Args, ArgsType, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../../site/projects/project.model.js';
import {
  Webhook,
  WebhookDelivery,
  WebhookDeliveryFilter,
  WebhookDeliveryPath,
  WebhookInput,
  WebhookPath,
  WebhookRotationInput,
  WebhookSecret,
} from './webhook.models.js';
import { WebhooksService } from './webhooks.service.js';

const WebhookDeliveryConnection = connectionOf(WebhookDelivery, 'WebhookDelivery');

@ArgsType()
class WebhookDeliveriesArgs extends WebhookDeliveryFilter {
  @CodeField({ description: 'Name of the webhook' })
  name: string;
}

@Resolver(() => Project)
export class WebhooksResolver {
  constructor(private readonly webhooks: WebhooksService) {}

  @Permit('webhooks.read')
  @ResolveField('webhooks', () => [Webhook], { description: 'The webhooks, by name' })
  list(): Promise<Webhook[]> {
    return this.webhooks.list();
  }

  @Permit('webhooks.read')
  @ResolveField(() => WebhookDeliveryConnection, {
    description: 'The messages to a webhook, by number, a page at a time',
  })
  async webhookDeliveries(
    @Args() { name, ...filter }: WebhookDeliveriesArgs,
  ): Promise<InstanceType<typeof WebhookDeliveryConnection>> {
    return connected(await this.webhooks.deliveries(name, filter), 'number');
  }

  @Permit('webhooks.write')
  @Mutation(() => Webhook, {
    description: 'Sets a webhook; a new one is sent nothing before it has a secret',
  })
  putWebhook(
    @Args() { name }: WebhookPath,
    @Args('input', { description: 'Its new content' }) input: WebhookInput,
  ): Promise<Webhook> {
    return this.webhooks.put(name, input);
  }

  @Permit('webhooks.write')
  @Mutation(() => Boolean, { description: 'Removes a webhook, and what was to be sent to it' })
  async removeWebhook(@Args() { name }: WebhookPath): Promise<boolean> {
    await this.webhooks.remove(name);
    return true;
  }

  @Permit('webhooks.write')
  @Mutation(() => WebhookSecret, {
    description: 'Makes a secret for a webhook, its first or another one; it is shown only this once',
  })
  rotateWebhookSecret(
    @Args() { name }: WebhookPath,
    @Args('input', { description: 'How the secret before ends' }) input: WebhookRotationInput,
  ): Promise<WebhookSecret> {
    return this.webhooks.rotateSecret(name, input);
  }

  @Permit('webhooks.write')
  @Mutation(() => WebhookDelivery, {
    description: 'Sends a message of type webhook.test to a webhook, to try it',
  })
  sendWebhookTest(@Args() { name }: WebhookPath): Promise<WebhookDelivery> {
    return this.webhooks.sendTest(name);
  }

  @Permit('webhooks.write')
  @Mutation(() => WebhookDelivery, { description: 'Sends a message again that was delivered or is dead' })
  redeliverWebhookDelivery(@Args() { name, number }: WebhookDeliveryPath): Promise<WebhookDelivery> {
    return this.webhooks.redeliver(name, number);
  }
}
