import { Controller, Get, Header, Param, Query, Req, Res, UseGuards } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Fails } from '../../../common/api/answer.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { JsonText } from '../../../common/database/json-rows.js';
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

/** `odata.maxpagesize` of the header Prefer, with or without its prefix. */
const PAGE_SIZE = /(?:^|[,;\s])(?:odata\.)?maxpagesize\s*=\s*"?(\d{1,9})"?/i;

/** Whether Accept, or the option in its place, has a parameter. */
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

/** The address of the feed, as the client wrote it, with what follows. */
const rootOf = ({ protocol, host, url }: FastifyRequest): string =>
  `${protocol}://${host}${/^.*?\/odata(?=[/?]|$)/.exec(url)?.[0] ?? ''}`;

const nextLink = (request: FastifyRequest, token: string, taken: number): string => {
  const { pathname, searchParams } = new URL(request.url, 'http://localhost');
  const top = searchParams.get('$top');
  searchParams.delete('$skip');
  if (top !== null) searchParams.set('$top', String(Number(top) - taken));
  searchParams.set('$skiptoken', token);
  const { protocol, host } = request;
  return `${protocol}://${host}${pathname}?${searchParams.toString().replaceAll('+', '%20').replaceAll('%24', '$')}`;
};

const jsonForm = (reply: FastifyReply, isBare: boolean, isText: boolean): void => {
  sayVersion(reply);
  const metadata = `odata.metadata=${isBare ? 'none' : 'minimal'}`;
  void reply.header(
    'content-type',
    `${JSON_TYPE};${metadata}${isText ? ';IEEE754Compatible=true' : ''};charset=utf-8`,
  );
};

/** @throws ProblemError malformed to a client of an earlier version */
const assertVersion = ({ headers }: FastifyRequest): void => {
  const most = [headers['odata-maxversion']].flat()[0];
  if (most !== undefined && !/^(4\.|[5-9])/.test(most))
    throw new ProblemError(
      'malformed',
      `OData-MaxVersion is ${JSON.stringify(most.slice(0, 20))}; the feed answers OData 4.0.`,
    );
};

const sayVersion = (reply: FastifyReply): void => void reply.header('odata-version', '4.0');

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
    assertVersion(request);
    assertJson($format);
    const names = [...(await this.feed.sets()).keys()];
    const isBare = asks($format ?? request.headers.accept, /odata\.metadata=none/i);
    jsonForm(reply, isBare, false);
    const text = JSON.stringify({
      ...(!isBare && { '@odata.context': `${rootOf(request)}/$metadata` }),
      value: names.map((name) => ({ name, kind: 'EntitySet', url: name })),
    });
    return new JsonText(text);
  }

  @Permit('record.read')
  @Light()
  @Get('$metadata')
  @Header('content-type', `${XML};charset=utf-8`)
  @Fails('not_implemented')
  @FeedText('The model of the OData feed as CSDL 4.0', XML)
  async metadata(
    @Param() _path: ProjectPath,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    assertVersion(request);
    const text = await this.feed.metadata();
    sayVersion(reply);
    return text;
  }

  @Permit('record.read')
  @Get(':set/$count')
  @Header('content-type', `${PLAIN};charset=utf-8`)
  @Fails('not_implemented')
  @FeedText('The number of entities of a set', PLAIN)
  async count(
    @Param() { set: name }: EntitySetPath,
    @Query() query: CountQuery,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    assertVersion(request);
    const found = await this.feed.count(await this.feed.set(name), query.$filter);
    sayVersion(reply);
    return found;
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
    assertVersion(request);
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

/** The entities are JSON already, as PostgreSQL wrote them: numbers keep all their digits. */
const written = (
  { entities, count, next }: Entities,
  context: string | undefined,
  linkTo: (token: string) => string,
): JsonText<unknown> => {
  const parts = [
    ...(context === undefined ? [] : [`"@odata.context":${JSON.stringify(context)}`]),
    ...(count === undefined ? [] : [`"@odata.count":${count}`]),
    `"value":[${entities.join(',\n')}]`,
    ...(next === undefined ? [] : [`"@odata.nextLink":${JSON.stringify(linkTo(next))}`]),
  ];
  return new JsonText(`{${parts.join(',')}}`);
};
