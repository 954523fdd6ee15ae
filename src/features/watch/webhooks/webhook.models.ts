import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChoicesField,
  CodeField,
  EnumField,
  InstantField,
  IntField,
  JsonField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { WebhookDeliveryState } from '../../../generated/prisma/enums.js';

/** Types of messages that can be sent to a webhook; each has one form of data (docs/guide/webhooks.md). */
export const MESSAGE_TYPES = ['alert.raised', 'alert.acknowledged', 'alert.cleared'] as const;

export const MAX_URL_LENGTH = 2000;

/** Default time for which the previous secret continues to sign. [h] */
export const USUAL_GRACE_H = 24;

registerEnum(WebhookDeliveryState, {
  name: 'WebhookDeliveryState',
  description: 'Where a message to a webhook stands.',
  values: {
    pending: 'It is sent, or tried again, at the time of nextAt',
    delivered: 'The webhook accepted it with a status of 2xx',
    dead: 'Every attempt failed, or the webhook answered 410: it is sent again only by hand',
  },
});

@ArgsType()
export class WebhookPath extends ProjectPath {
  @CodeField({ description: 'Name of the webhook' })
  name: string;
}

@ArgsType()
export class WebhookDeliveryPath extends WebhookPath {
  @IntField({ description: 'Number of the delivery', min: 1 })
  number: number;
}

@ArgsType()
export class WebhookDeliveryFilter extends PageArgs {
  @EnumField({
    description: 'Only those in this state',
    values: WebhookDeliveryState,
    name: 'WebhookDeliveryState',
    optional: true,
  })
  state?: WebhookDeliveryState;
}

@InputType({ description: 'Where messages are sent, and which.' })
@ObjectType({ isAbstract: true })
export class WebhookInput {
  @TextField({
    description:
      'Where messages are posted: an https URL in the public internet, or of what the operator has allowed. It is shown to whoever reads the history: put no secret in it',
    maxLength: MAX_URL_LENGTH,
  })
  url: string;

  @ChoicesField({
    description: 'Types of the messages that it is sent, at least one',
    values: MESSAGE_TYPES,
    name: 'MessageType',
    least: 1,
  })
  types: string[];

  @BooleanField({
    description: 'Whether messages are sent; true unless given. What is pending waits while it is not',
    optional: true,
  })
  enabled?: boolean;
}

@InputType({ description: 'How the secret of a webhook is replaced.' })
export class WebhookRotationInput {
  @IntField({
    description:
      'How long messages are signed by the secret before too: 24 unless given; 0 for one that has become known [h]',
    max: 168,
    optional: true,
  })
  graceH?: number;
}

@ObjectType({ description: 'An address outside that is notified by signed messages.' })
export class Webhook extends WebhookInput {
  @CodeField({ description: 'Its name' })
  name: string;

  @TextField({ description: 'Why the service disabled it', optional: true })
  disabledBecause?: string;

  @InstantField({
    description: 'When its secret was made; absent: it has none yet, and is sent nothing',
    optional: true,
  })
  secretMadeAt?: string;

  @InstantField({
    description: 'Until when messages are signed by the secret before too; absent: there was none',
    optional: true,
  })
  previousSecretEndsAt?: string;

  @TextField({ description: 'Who set it last' })
  setBy: string;

  @InstantField({ description: 'When' })
  setAt: string;
}

@ObjectType({ description: 'A new secret of a webhook.' })
export class WebhookSecret {
  @TextField({
    description: 'The secret by which messages are verified, whsec_ and base64; shown only this once',
  })
  secret: string;

  @InstantField({
    description: 'Until when messages are signed by the secret before too; absent: there was none',
    optional: true,
  })
  previousSecretEndsAt?: string;
}

@ObjectType({ description: 'A message on its way to a webhook.' })
export class WebhookDelivery {
  @IntField({ description: 'Number of the delivery', min: 1 })
  number: number;

  @TextField({ description: 'Id of the message, the same at every attempt: header webhook-id' })
  message: string;

  @TextField({ description: 'Type of the message' })
  type: string;

  @InstantField({ description: 'When what it reports happened' })
  occurredAt: string;

  @JsonField({ description: 'Its data' })
  data: object;

  @EnumField({
    description: 'Where it stands',
    values: WebhookDeliveryState,
    name: 'WebhookDeliveryState',
  })
  state: WebhookDeliveryState;

  @IntField({ description: 'Attempts since it was written, or last sent again by hand' })
  attempts: number;

  @InstantField({ description: 'When it is tried next; absent: it is not', optional: true })
  nextAt?: string;

  @InstantField({ description: 'When it was tried last', optional: true })
  lastAt?: string;

  @IntField({ description: 'HTTP status that answered the last attempt; absent: none did', optional: true })
  lastStatus?: number;

  @TextField({ description: 'Why the last attempt failed', optional: true })
  lastError?: string;
}

@ObjectType({ description: 'Messages to a webhook, a page at a time.' })
export class WebhookDeliveryPage {
  @ListField(() => WebhookDelivery, { description: 'The deliveries, by their number' })
  items: WebhookDelivery[];

  @IntField({
    description: 'Pass it as after to get the next page; absent on the last one',
    cursor: true,
    optional: true,
  })
  next?: number;
}
