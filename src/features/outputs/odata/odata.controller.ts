import { Controller, Get, Param, Query, Req, Res, UseGuards } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Fails } from '../../../common/api/answer.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { jsonOf, JsonText } from '../../../common/database/json-rows.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { ProblemError } from '../../../common/api/problem.js';
import { Heavy, Light } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  CountQuery,
  EntitiesQuery,
  EntitySetPath,
  FeedEntities,
  FeedSets,
  FeedText,
  FormatQuery,
} from './odata.models.js';
import { OptionsGuard } from './options.guard.js';
import { type Entities, ODataService } from './odata.service.js';
import { MAX_PAGE, selected, USUAL_PAGE } from './query-options.js';
import { optionFault } from './refusals.js';

const XML = 'application/xml';
const PLAIN = 'text/plain';

/** `odata.maxpagesize` in the header Prefer, with or without its prefix. */
const PAGE_SIZE = /(?:^|[,;\s])(?:odata\.)?maxpagesize\s*=\s*"?(\d{1,9})"?/i;

/** Whether Accept, or the query option that replaces it, has a parameter. */
const asks = (form: string | undefined, parameter: RegExp): boolean =>
  form !== undefined && parameter.test(form);

const assertJson = ($format: string | undefined): void => {
  const type = $format?.split(';')[0]?.trim().toLowerCase();
  if (type !== undefined && type !== 'json' && type !== JSON_TYPE)
    throw new ProblemError(
      'not_acceptable',
      `This resource is available only as json, not as ${JSON.stringify(type)}.`,
    );
};

const originOf = ({ protocol, host }: FastifyRequest): string => `${protocol}://${host}`;

/** The address of the feed, as used by the client. */
const rootOf = (request: FastifyRequest): string =>
  `${originOf(request)}${/^.*?\/odata(?=[/?]|$)/.exec(request.url)?.[0] ?? ''}`;

const nextLink = (request: FastifyRequest, token: string, taken: number): string => {
  const { pathname, searchParams } = new URL(request.url, 'http://localhost');
  const top = searchParams.get('$top');
  searchParams.delete('$skip');
  if (top !== null) searchParams.set('$top', String(Number(top) - taken));
  searchParams.set('$skiptoken', token);
  return `${originOf(request)}${pathname}?${searchParams.toString().replaceAll('+', '%20').replaceAll('%24', '$')}`;
};

const jsonForm = (reply: FastifyReply, isBare: boolean, isText: boolean): void => {
  const metadata = `odata.metadata=${isBare ? 'none' : 'minimal'}`;
  void reply.header(
    'content-type',
    `${JSON_TYPE};${metadata}${isText ? ';IEEE754Compatible=true' : ''};charset=utf-8`,
  );
};

/** A read-only feed of facts and dimensions as OData 4.0, for spreadsheets and BI tools. */
@ApiTags('OData')
@Heavy()
@UseGuards(OptionsGuard)
@Controller('v1/projects/:project/odata')
export class ODataController {
  constructor(private readonly feed: ODataService) {}

  @Permit('record.read')
  @Light()
  @Get()
  @Fails('not_implemented')
  @FeedSets('The service document of the OData feed: its entity sets')
  async sets(
    @Param() _path: ProjectPath,
    @Query() { $format }: FormatQuery,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<JsonText<unknown>> {
    assertJson($format);
    const names = [...(await this.feed.sets()).keys()];
    const isBare = asks($format ?? request.headers.accept, /odata\.metadata=none/i);
    jsonForm(reply, isBare, false);
    return jsonOf({
      ...(!isBare && { '@odata.context': `${rootOf(request)}/$metadata` }),
      value: names.map((name) => ({ name, kind: 'EntitySet', url: name })),
    });
  }

  @Permit('record.read')
  @Light()
  @Get('$metadata')
  @Fails('not_implemented')
  @FeedText('The model of the OData feed as CSDL 4.0', XML)
  metadata(@Param() _path: ProjectPath): Promise<string> {
    return this.feed.metadata();
  }

  @Permit('record.read')
  @Get(':set/$count')
  @Fails('not_implemented')
  @FeedText('The number of entities of a set', PLAIN)
  async count(@Param() { set: name }: EntitySetPath, @Query() { $filter }: CountQuery): Promise<string> {
    return this.feed.count(await this.feed.set(name), $filter);
  }

  @Permit('record.read')
  @Get(':set')
  @Fails('not_implemented')
  @FeedEntities('Entities of a set, page by page')
  async entities(
    @Param() { set: name }: EntitySetPath,
    @Query() query: EntitiesQuery,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<JsonText<unknown>> {
    assertJson(query.$format);
    const set = await this.feed.set(name);
    const form = query.$format ?? request.headers.accept;
    const isText = asks(form, /IEEE754Compatible=true/i);
    const isBare = asks(form, /odata\.metadata=none/i);
    const pageSize = pageSizeOf(request.headers.prefer);
    const found = await this.feed.entities(set, query, pageSize ?? USUAL_PAGE, isText);
    if (pageSize !== undefined) void reply.header('preference-applied', `odata.maxpagesize=${pageSize}`);
    jsonForm(reply, isBare, isText);
    const names =
      query.$select === undefined
        ? ''
        : `(${selected(set, query.$select)
            .map((one) => one.name)
            .join(',')})`;
    return written(found, isBare ? undefined : `${rootOf(request)}/$metadata#${set.name}${names}`, (next) =>
      nextLink(request, next, found.entities.length),
    );
  }
}

const pageSizeOf = (prefer: string | string[] | undefined): number | undefined => {
  const size = PAGE_SIZE.exec([prefer ?? ''].flat().join(','))?.[1];
  if (size === undefined) return undefined;
  if (Number(size) < 1) throw optionFault('odata.maxpagesize', 'must be at least 1', size);
  return Math.min(Number(size), MAX_PAGE);
};

/** The entities are JSON text from PostgreSQL already, with all digits of their numbers. */
const written = (
  { entities, count, next }: Entities,
  context: string | undefined,
  linkTo: (token: string) => string,
): JsonText<unknown> => {
  return jsonOf({
    ...(context !== undefined && { '@odata.context': context }),
    ...(count !== undefined && { '@odata.count': Number(count) }),
    value: new JsonText<object[]>(`[${entities.join(',\n')}]`),
    ...(next !== undefined && { '@odata.nextLink': linkTo(next) }),
  });
};
