import { applyDecorators, type Type } from '@nestjs/common';
import { ApiExtension, ApiOperation, ApiResponse } from '@nestjs/swagger';
import type { ProblemCode } from './problems.js';

/** What a route does and answers, for the OpenAPI document: a class, a list of one, or nothing. How it may fail is said there of all. */
export const Answer = (summary: string, answer?: Type | [Type], status = 200): MethodDecorator => {
  const [type, isArray] = Array.isArray(answer) ? [answer[0], true] : [answer, false];
  const success = type
    ? { status, type, isArray, description: summary }
    : { status: 204, description: summary };
  return applyDecorators(ApiOperation({ summary }), ApiResponse(success));
};

/** Where the OpenAPI document finds in which ways a route fails that others of its kind do not; it is taken out there. */
export const FAILS = 'x-fails';

/** The route fails in ways that others of its kind do not. */
export const Fails = (...codes: ProblemCode[]): MethodDecorator => ApiExtension(FAILS, codes);
