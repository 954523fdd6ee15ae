import { type ExecutionContext, SetMetadata } from '@nestjs/common';
import type { Reflector } from '@nestjs/core';
import type { GraphQLField } from 'graphql';
import { RESOLVER, type Resolver } from './permit.js';

export const HEAVY = 'drivebook:heavy';

/**
 * Stands beside `@Permit` where the work grows with the record: figures over many records, papers, imports. On a class it
 * holds for all of its routes or fields. Such work has a share of the database of its own; see `admission.ts`.
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

/** Whether the field of a schema stands for heavy work. */
export const isHeavyField = ({ extensions }: Pick<GraphQLField<unknown, unknown>, 'extensions'>): boolean => {
  const resolver = extensions[RESOLVER] as Resolver | undefined;
  if (!resolver) return false;
  const by = (of: object): unknown => Reflect.getMetadata(HEAVY, of);
  return (by(resolver.handler) ?? by(resolver.class) ?? false) === true;
};

/** Of the intervals of a figure, where their length is not asked for. [m] */
const USUAL_LENGTH_M = 10;

/** As many intervals take one place more: those of 20 km by 10 m. */
const INTERVALS_A_PLACE = 2000;

/** What is known of a piece of work before it is done. */
export interface Expected {
  isHeavy: boolean;
  isAsOf: boolean;
  /** 0 where the work is of no single drive. [m] */
  driveLengthM: number;
  /** Of the intervals asked for, as it was sent: what is no length is refused by whoever reads it. [m] */
  lengthM?: unknown;
}

/**
 * How many places of the heavy share the work takes: more the longer the drive and the shorter the intervals, and more as
 * of a moment, where the record is read through its versions. 0: it is light.
 */
export const costOf = ({ isHeavy, isAsOf, driveLengthM, lengthM }: Expected): number => {
  const asked = Number(lengthM ?? USUAL_LENGTH_M);
  const intervals = driveLengthM / (asked > 0 ? asked : USUAL_LENGTH_M);
  const places = isHeavy ? 1 + Math.floor(intervals / INTERVALS_A_PLACE) : 0;
  return places + (isAsOf ? 1 : 0);
};
