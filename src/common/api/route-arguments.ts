import type { ExecutionContext } from '@nestjs/common';
import { ROUTE_ARGS_METADATA } from '@nestjs/common/constants.js';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import { type Class, propertiesOf } from './properties.js';

/** An argument of a route: which part of the request it takes, and by which class. */
export interface RouteArgument {
  kind: RouteParamtypes;
  index: number;
  /** The single parameter or header that it takes; undefined: all of them in one object. */
  name?: string;
  type?: Class;
}

/** The arguments that a route declares, as Nest keeps them. */
export const routeArguments = (controller: Class, method: string): RouteArgument[] => {
  const declared = (Reflect.getMetadata(ROUTE_ARGS_METADATA, controller, method) ?? {}) as Record<
    string,
    { index: number; data?: unknown }
  >;
  const types = (Reflect.getMetadata('design:paramtypes', controller.prototype as object, method) ??
    []) as Class[];
  return Object.entries(declared).map(([key, { index, data }]) => ({
    kind: Number.parseInt(key, 10),
    index,
    name: typeof data === 'string' ? data : undefined,
    type: types[index],
  }));
};

/** A value derived from the arguments of a route, computed at its first request. */
export const ofArguments = <T extends NonNullable<unknown>>(
  find: (taken: RouteArgument[]) => T,
): ((context: ExecutionContext) => T) => {
  const known = new WeakMap<object, T>();
  return (context) => {
    const handler = context.getHandler();
    const found = known.get(handler) ?? find(routeArguments(context.getClass(), handler.name));
    known.set(handler, found);
    return found;
  };
};

/** The names of the query parameters that a route takes. */
export const queryNames = ofArguments((taken) =>
  taken
    .filter(({ kind }) => kind === RouteParamtypes.QUERY)
    .flatMap(({ name, type }) => name ?? (type ? [...propertiesOf(type)] : [])),
);
