import { type ExecutionContext, Injectable, RequestMethod } from '@nestjs/common';
import { METHOD_METADATA, PATH_METADATA } from '@nestjs/common/constants.js';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import { ModulesContainer } from '@nestjs/core';
import type { FastifyRequest } from 'fastify';
import { answerClass } from './given-back.js';
import { InputPipe } from './input.pipe.js';
import type { Class } from './properties.js';
import { singleResource } from './single-resource.js';
import { type RouteArgument, routeArguments } from './route-arguments.js';

/** The GET of a single resource. */
export interface Reading {
  path: string;
  controller: Record<string, (...values: unknown[]) => Promise<unknown>>;
  method: string;
  arguments: RouteArgument[];
  /** The class of its answer; undefined: a list. */
  answer: Class | undefined;
  /** The method that carries its metadata. */
  handler: object;
}

/** The single resource that a route reads or writes. */
export interface Resource {
  reading: Reading;
  /** The route checks its preconditions itself. */
  isNative: boolean;
  /** The route sets itself whether it created. */
  saysStatus: boolean;
  /** The class of the body of a PUT. */
  input: Class | undefined;
}

/** The answer of a resource, and the entity tag if it sets one itself. */
export interface ResourceRead {
  answer: unknown;
  etag?: string;
}

/** A call of a route in process, without a request. */
export interface Call {
  params: Record<string, string>;
  query?: Record<string, string>;
  body?: unknown;
  ifMatch?: string;
}

const joined = (...parts: string[]): string => `/${parts.join('/').split('/').filter(Boolean).join('/')}`;

type RouteMethod = Omit<Reading, 'answer' | 'handler'>;

interface Route {
  verb: RequestMethod;
  reading: Reading;
}

/** Finds the routes of a single resource by their addresses: PUT, DELETE and actions change what its GET answers. */
@Injectable()
export class Resources {
  private readonly pipe = new InputPipe();
  private readonly known = new WeakMap<object, Resource | null>();
  private routes: Map<string, Reading> | undefined;

  constructor(private readonly modules: ModulesContainer) {}

  /** @returns undefined for a route of a list, a figure or a file */
  of(context: ExecutionContext, { method, routeOptions }: FastifyRequest): Resource | undefined {
    const handler = context.getHandler();
    const known = this.known.get(handler);
    if (known !== undefined) return known ?? undefined;
    const reading = this.readingOf(method === 'HEAD' ? 'GET' : method, routeOptions.url ?? '');
    const own = routeArguments(context.getClass(), handler.name);
    const isNative = own.some(({ kind, name }) => kind === RouteParamtypes.HEADERS && name === 'if-match');
    const saysStatus = own.some(({ kind }) => kind === RouteParamtypes.RESPONSE);
    const input = method === 'PUT' ? own.find(({ kind }) => kind === RouteParamtypes.BODY)?.type : undefined;
    const found = reading ? { reading, isNative, saysStatus, input } : null;
    this.known.set(handler, found);
    return found ?? undefined;
  }

  /**
   * A function that reads the resource of a request, made once its address is validated: nothing reaches the database before.
   * @throws ProblemError invalid
   */
  async prepared(
    { path, controller, method, arguments: taken }: Reading,
    request: Pick<FastifyRequest, 'params'>,
  ): Promise<() => Promise<ResourceRead>> {
    return this.preparedCall(
      { path, controller, method, arguments: taken },
      { params: request.params as Record<string, string> },
    );
  }

  /** A route by its method and address; undefined: there is none. */
  route(verb: 'GET' | 'PUT' | 'POST', path: string): Reading | undefined {
    return this.all().get(`${verb} ${path}`);
  }

  /**
   * Calls a route in process, by the rules of its arguments, in the current scope and transaction. The caller is responsible for
   * what runs before every route: access, and preconditions that the route does not check itself.
   * @throws ProblemError as the route
   */
  async call(route: RouteMethod, call: Call): Promise<ResourceRead> {
    return (await this.preparedCall(route, call))();
  }

  /** The body of a call as its route would receive it: address and body are validated. @throws ProblemError as the route */
  async taken({ path, arguments: taken }: RouteMethod, { params: given, body }: Call): Promise<unknown> {
    const params = paramsIn(path, given);
    let read: unknown;
    for (const { kind, type: metatype } of taken)
      if (kind === RouteParamtypes.PARAM) await this.pipe.transform(params, { type: 'param', metatype });
      else if (kind === RouteParamtypes.BODY)
        read = await this.pipe.transform(body, { type: 'body', metatype });
    return read;
  }

  private async preparedCall(
    { path, controller, method, arguments: taken }: RouteMethod,
    { params: given, query = {}, body, ifMatch }: Call,
  ): Promise<() => Promise<ResourceRead>> {
    const params = paramsIn(path, given);
    let etag: string | undefined;
    const reply = {
      header: (name: string, value: string): unknown => {
        if (name.toLowerCase() === 'etag') etag = value;
        return reply;
      },
      status: (): unknown => reply,
    };
    const values: unknown[] = [];
    for (const { kind, index, name, type } of taken) {
      if (kind === RouteParamtypes.PARAM)
        values[index] = await this.pipe.transform(params, { type: 'param', metatype: type });
      else if (kind === RouteParamtypes.QUERY)
        values[index] = await this.pipe.transform(query, { type: 'query', metatype: type });
      else if (kind === RouteParamtypes.BODY)
        values[index] = await this.pipe.transform(body, { type: 'body', metatype: type });
      else if (kind === RouteParamtypes.HEADERS) values[index] = name === 'if-match' ? ifMatch : undefined;
      else if (kind === RouteParamtypes.RESPONSE) values[index] = reply;
    }
    return async () => {
      etag = undefined;
      return { answer: await controller[method]?.(...values), etag };
    };
  }

  private readingOf(method: string, path: string): Reading | undefined {
    const resource = singleResource(method, path, {
      hasGet: (address) => this.route('GET', address) !== undefined,
      hasPut: (address) => this.route('PUT', address) !== undefined,
    });
    return resource === undefined ? undefined : this.route('GET', resource);
  }

  /** By method and address. */
  private all(): Map<string, Reading> {
    return (this.routes ??= new Map(
      [...this.modules.values()]
        .flatMap((module) => [...module.controllers.values()])
        .flatMap(({ instance, metatype }) => routesOf(instance as Reading['controller'], metatype as Class))
        .map(({ verb, reading }) => [`${RequestMethod[verb]} ${reading.path}`, reading]),
    ));
  }
}

/** The parameters of an address. */
const paramsIn = (path: string, given: Call['params']): Record<string, string | undefined> => {
  const params: Record<string, string | undefined> = {};
  for (const step of path.split('/')) if (step.startsWith(':')) params[step.slice(1)] = given[step.slice(1)];
  return params;
};

const routesOf = (controller: Reading['controller'], metatype: Class): Route[] => {
  const prototype = metatype.prototype as Record<string, object>;
  const base = String(Reflect.getMetadata(PATH_METADATA, metatype) ?? '');
  return Object.getOwnPropertyNames(prototype).flatMap((method): Route[] => {
    const handler = prototype[method];
    const verb = handler && (Reflect.getMetadata(METHOD_METADATA, handler) as RequestMethod | undefined);
    if (!handler || verb === undefined) return [];
    const path = joined(base, String(Reflect.getMetadata(PATH_METADATA, handler)));
    const taken = routeArguments(metatype, method);
    return [
      {
        verb,
        reading: { path, controller, method, arguments: taken, answer: answerClass(handler), handler },
      },
    ];
  });
};
