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
  /** The class of what it answers; undefined: a list. */
  answer: Class | undefined;
}

/** What a route reads or writes, when that is a single resource. */
export interface Resource {
  reading: Reading;
  /** The route holds its preconditions itself. */
  isNative: boolean;
  /** The route says itself whether it created. */
  saysStatus: boolean;
  /** The class of the body of a PUT. */
  input: Class | undefined;
}

/** What a resource answers, and the entity tag that it says itself. */
export interface ResourceRead {
  answer: unknown;
  etag?: string;
}

const joined = (...parts: string[]): string => `/${parts.join('/').split('/').filter(Boolean).join('/')}`;

interface Route {
  verb: RequestMethod;
  reading: Reading;
}

/** Which routes are of one single resource, by their addresses: what GET answers is what PUT, DELETE and its actions change. */
@Injectable()
export class Resources {
  private readonly pipe = new InputPipe();
  private readonly known = new WeakMap<object, Resource | null>();
  private readings: Map<string, Reading> | undefined;
  private written = new Set<string>();

  constructor(private readonly modules: ModulesContainer) {}

  /** @returns undefined for a route of a list, of a figure or of a file */
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
   * How the resource of a request is read, once its address is judged: nothing of it reaches the database before.
   * @throws ProblemError invalid
   */
  async prepared(
    { path, controller, method, arguments: taken }: Reading,
    request: FastifyRequest,
  ): Promise<() => Promise<ResourceRead>> {
    const given = request.params as Record<string, string>;
    const names = [...path.matchAll(/:(\w+)/g)].map(([, name = '']) => name);
    const params = Object.fromEntries(names.map((name) => [name, given[name]]));
    let etag: string | undefined;
    const reply = {
      header: (name: string, value: string): unknown => {
        if (name.toLowerCase() === 'etag') etag = value;
        return reply;
      },
    };
    const values: unknown[] = [];
    for (const { kind, index, type } of taken) {
      if (kind === RouteParamtypes.PARAM)
        values[index] = await this.pipe.transform(params, { type: 'param', metatype: type });
      else if (kind === RouteParamtypes.QUERY)
        values[index] = await this.pipe.transform({}, { type: 'query', metatype: type });
      else if (kind === RouteParamtypes.RESPONSE) values[index] = reply;
    }
    return async () => {
      etag = undefined;
      return { answer: await controller[method]?.(...values), etag };
    };
  }

  private readingOf(method: string, path: string): Reading | undefined {
    const readings = (this.readings ??= this.collected());
    const resource = singleResource(method, path, {
      hasGet: (address) => readings.has(address),
      hasPut: (address) => this.written.has(address),
    });
    return resource === undefined ? undefined : readings.get(resource);
  }

  private collected(): Map<string, Reading> {
    const routes = [...this.modules.values()]
      .flatMap((module) => [...module.controllers.values()])
      .flatMap(({ instance, metatype }) => routesOf(instance as Reading['controller'], metatype as Class));
    for (const { verb, reading } of routes) if (verb === RequestMethod.PUT) this.written.add(reading.path);
    return new Map(
      routes.filter(({ verb }) => verb === RequestMethod.GET).map(({ reading }) => [reading.path, reading]),
    );
  }
}

const routesOf = (controller: Reading['controller'], metatype: Class): Route[] => {
  const prototype = metatype.prototype as Record<string, object>;
  const base = String(Reflect.getMetadata(PATH_METADATA, metatype) ?? '');
  return Object.getOwnPropertyNames(prototype).flatMap((method): Route[] => {
    const handler = prototype[method];
    const verb = handler && (Reflect.getMetadata(METHOD_METADATA, handler) as RequestMethod | undefined);
    if (!handler || verb === undefined) return [];
    const path = joined(base, String(Reflect.getMetadata(PATH_METADATA, handler)));
    const taken = routeArguments(metatype, method);
    return [{ verb, reading: { path, controller, method, arguments: taken, answer: answerClass(handler) } }];
  });
};
