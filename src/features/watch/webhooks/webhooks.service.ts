import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { pageFrom, pageOf } from '../../../common/api/paging.js';
import { faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Config } from '../../../common/config/config.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { Targets } from '../../../common/net/targets.js';
import { newSecret } from './secrets.js';
import {
  USUAL_GRACE_H,
  Webhook,
  type WebhookDelivery,
  type WebhookDeliveryFilter,
  type WebhookDeliveryPage,
  type WebhookInput,
  type WebhookRotationInput,
  WebhookSecret,
} from './webhook.models.js';

const WEBHOOKS = sql`select ${columnsOf(Webhook)} from webhook_endpoint order by name`;

const PUT = `insert into webhook_endpoint (name, url, types, enabled) values ($1, $2, $3::text[], $4)
  on conflict (project_id, name) do update set url = excluded.url, types = excluded.types, enabled = excluded.enabled`;

const REMOVE = `delete from webhook_endpoint where name = $1 returning id`;

const ENDPOINT = `select id, enabled, secret_made_at is not null as "hasSecret" from webhook_endpoint where name = $1 for update`;

const ROTATE = `update webhook_endpoint set secret_made_at = clock_timestamp(),
  previous_secret_ends_at = case when secret_made_at is null then null else clock_timestamp() + make_interval(hours => $2::int) end
  where id = $1`;

const GRACE = sql`select ${columnsOf(WebhookSecret, '', { secret: false })} from webhook_endpoint where id = $1`;

/** Unexpired secrets continue to sign beside the new one, at most for the time given now; if there are many, only the newest do. */
const END_SECRETS = `update webhook_secret set ends_at = least(ends_at, clock_timestamp() + make_interval(hours => $2::int)) where endpoint_id = $1`;

const ADD_SECRET = `insert into webhook_secret (endpoint_id, salt, fingerprint) values ($1::int, $2::bytea, $3)`;

const MOST_SECRETS = 5;

const DROP_SECRETS = `delete from webhook_secret where endpoint_id = $1 and (ends_at <= clock_timestamp()
  or id not in (select id from webhook_secret where endpoint_id = $1 order by id desc limit ${MOST_SECRETS}))`;

const NOTIFY = `select pg_notify('drivebook_webhook', '')::text as done`;

const DELIVERIES = `select d.id as number, m.message, m.type, m.occurred_at as "occurredAt", m.body as data, d.state, d.attempts, d.next_at as "nextAt",
  d.last_at as "lastAt", d.last_status as "lastStatus", d.last_error as "lastError"
  from webhook_delivery d join webhook_endpoint e on e.id = d.endpoint_id join outgoing_message m on m.id = d.message_id where e.name = $1`;

const SEND_TEST = `with made as (insert into outgoing_message (type, occurred_at, body)
    values ('webhook.test', clock_timestamp(), jsonb_build_object('webhook', $2::text, 'sentBy', acting_subject())) returning id)
  insert into webhook_delivery (endpoint_id, message_id) select $1::int, id from made returning id`;

const REDELIVER = `update webhook_delivery set state = 'pending', attempts = 0, next_at = clock_timestamp() where id = $2 and endpoint_id = $1 and state <> 'pending'
  returning id`;

interface Endpoint {
  id: number;
  enabled: boolean;
  hasSecret: boolean;
}

/** Webhooks of a project, their secrets, and their deliveries. */
@Injectable()
export class WebhooksService {
  private readonly targets: Targets;

  constructor(
    private readonly config: Config,
    private readonly database: Database,
  ) {
    this.targets = new Targets(config.webhooks.allowedTargets);
  }

  list(): Promise<Webhook[]> {
    return this.database.read(WEBHOOKS);
  }

  get(name: string): Promise<Webhook> {
    return oneOf(this.list(), (each) => each.name === name, named(name));
  }

  async put(name: string, { url, types, enabled }: WebhookInput): Promise<Webhook> {
    const rule = this.targets.faultOf(url);
    if (rule !== undefined)
      throw faulty('invalid', [{ in: 'body', pointer: '/url', value: url, detail: `url ${rule}` }]);
    await this.database.ofProject(async (transaction) => {
      await transaction.$executeRawUnsafe(PUT, name, url, types, enabled ?? true);
      await transaction.$queryRawUnsafe(NOTIFY);
    });
    return this.get(name);
  }

  /** Messages still to be sent to it are removed with it. */
  async remove(name: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, name);
      if (gone.length === 0) throw notFound(named(name));
    });
  }

  /** Creates its first secret, or a new one beside which the previous one continues to sign for a while. */
  async rotateSecret(name: string, { graceH }: WebhookRotationInput): Promise<WebhookSecret> {
    const { apiKeyPepper } = this.config;
    if (apiKeyPepper === undefined)
      throw new ProblemError(
        'conflict',
        'This service does not support signed webhooks yet: set API_KEY_PEPPER, from which their secrets are derived.',
      );
    const { text, kept } = newSecret(apiKeyPepper);
    const hours = graceH ?? USUAL_GRACE_H;
    return this.database.ofProject(async (transaction) => {
      const { id } = await endpointOf(transaction, name);
      await transaction.$executeRawUnsafe(END_SECRETS, id, hours);
      await transaction.$executeRawUnsafe(ADD_SECRET, id, kept.salt, kept.fingerprint);
      await transaction.$executeRawUnsafe(DROP_SECRETS, id);
      await transaction.$executeRawUnsafe(ROTATE, id, hours);
      const [grace] = await readRows(transaction, GRACE, id);
      return { secret: text, ...grace };
    });
  }

  /** Sends it a message of type webhook.test, whatever types it subscribes to. */
  async sendTest(name: string): Promise<WebhookDelivery> {
    const number = await this.database.ofProject(async (transaction) => {
      const endpoint = await endpointOf(transaction, name);
      assertSendable(name, endpoint);
      const [made] = await transaction.$queryRawUnsafe<{ id: number }[]>(SEND_TEST, endpoint.id, name);
      await transaction.$queryRawUnsafe(NOTIFY);
      return made?.id ?? 0;
    });
    return this.delivery(name, number);
  }

  async deliveries(name: string, filter: WebhookDeliveryFilter): Promise<WebhookDeliveryPage> {
    const { first, after } = pageOf(filter, 0);
    const sql = `${DELIVERIES} and d.id > $2 and ($3::webhook_delivery_state is null or d.state = $3::webhook_delivery_state) order by d.id limit $4`;
    const [rows] = await Promise.all([
      this.database.read<WebhookDelivery>(sql, name, after, filter.state ?? null, first + 1),
      this.get(name),
    ]);
    return pageFrom(rows, first, ({ number }) => number);
  }

  async delivery(name: string, number: number): Promise<WebhookDelivery> {
    const [found] = await this.database.read<WebhookDelivery>(`${DELIVERIES} and d.id = $2`, name, number);
    if (!found) throw notFound(`delivery ${number} of ${named(name)}`);
    return found;
  }

  /** Sends a message again, delivered or dead, with all attempts and under the same id. */
  async redeliver(name: string, number: number): Promise<WebhookDelivery> {
    await this.database.ofProject(async (transaction) => {
      const endpoint = await endpointOf(transaction, name);
      const again = await transaction.$queryRawUnsafe<{ id: number }[]>(REDELIVER, endpoint.id, number);
      if (again.length > 0) assertSendable(name, endpoint);
      await transaction.$queryRawUnsafe(NOTIFY);
    });
    return this.delivery(name, number);
  }
}

const named = (name: string): string => `webhook ${name} in project ${scope().project}`;

const endpointOf = async (transaction: Transaction, name: string): Promise<Endpoint> => {
  const [endpoint] = await readRows<Endpoint>(transaction, ENDPOINT, name);
  if (!endpoint) throw notFound(named(name));
  return endpoint;
};

/** @throws ProblemError wrong_state */
const assertSendable = (name: string, { enabled, hasSecret }: Endpoint): void => {
  if (!hasSecret)
    throw new ProblemError(
      'wrong_state',
      `webhook ${name} has no secret yet: make one by rotate-secret first`,
    );
  if (!enabled) throw new ProblemError('wrong_state', `webhook ${name} is disabled: enable it first`);
};
