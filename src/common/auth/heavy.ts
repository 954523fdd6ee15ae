import { type ExecutionContext, SetMetadata } from '@nestjs/common';
import type { Reflector } from '@nestjs/core';
import type { GraphQLField } from 'graphql';
import { RESOLVER, type Resolver } from './permit.js';

export const HEAVY = 'drivebook:heavy';

/**
 * Declared beside `@Permit` where the work grows with the record: figures over many records, papers, imports. On a class it
 * applies to all its routes or fields. Such work has its own share of the database; see `admission.ts`.
 */
export const Heavy = (): MethodDecorator & ClassDecorator => SetMetadata(HEAVY, true);

/** An exception to `@Heavy` on the class. */
export const Light = (): MethodDecorator => SetMetadata(HEAVY, false);

export const isHeavy = (
  reflector: Reflector,
  context: Pick<ExecutionContext, 'getHandler' | 'getClass'>,
): boolean =>
  reflector.getAllAndOverride<boolean | undefined>(HEAVY, [context.getHandler(), context.getClass()]) ??
  false;

/** Whether a field of the schema is declared heavy. */
export const isHeavyField = ({ extensions }: Pick<GraphQLField<unknown, unknown>, 'extensions'>): boolean => {
  const resolver = extensions[RESOLVER] as Resolver | undefined;
  if (!resolver) return false;
  const by = (of: object): unknown => Reflect.getMetadata(HEAVY, of);
  return (by(resolver.handler) ?? by(resolver.class) ?? false) === true;
};

/** Interval length assumed where none is given. [m] */
const USUAL_LENGTH_M = 10;

/** Number of intervals that cost one more place: 20 km in intervals of 10 m. */
const INTERVALS_A_PLACE = 2000;

/** What is known about work before it runs. */
export interface Expected {
  isHeavy: boolean;
  isAsOf: boolean;
  /** 0 where the work is not about a single drive. [m] */
  driveLengthM: number;
  /** Interval length as sent; an invalid one is refused later, where it is read. [m] */
  lengthM?: unknown;
}

/**
 * Number of places that the work takes in the heavy share: more for a longer drive and shorter intervals, and more when read as
 * of a moment, because the record is then read through its versions. 0: light.
 */
export const costOf = ({ isHeavy, isAsOf, driveLengthM, lengthM }: Expected): number => {
  const asked = Number(lengthM ?? USUAL_LENGTH_M);
  const intervals = driveLengthM / (asked > 0 ? asked : USUAL_LENGTH_M);
  const places = isHeavy ? 1 + Math.floor(intervals / INTERVALS_A_PLACE) : 0;
  return places + (isAsOf ? 1 : 0);
};
