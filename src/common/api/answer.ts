import { applyDecorators, type Type } from '@nestjs/common';
import { ApiExtraModels, ApiOperation, ApiResponse, getSchemaPath } from '@nestjs/swagger';
import { ProblemAnswer } from './problem.model.js';

const PROBLEM = { 'application/problem+json': { schema: { $ref: getSchemaPath(ProblemAnswer) } } };

/** That a route may fail, and how it then answers. */
export const MayFail = (): MethodDecorator =>
  applyDecorators(
    ApiExtraModels(ProblemAnswer),
    ApiResponse({ status: 'default', description: 'Problem (RFC 9457)', content: PROBLEM }),
  );

/** What a route does and answers, for the OpenAPI document: a class, a list of one, or nothing. */
export const Answer = (summary: string, answer?: Type | [Type], status = 200): MethodDecorator => {
  const [type, isArray] = Array.isArray(answer) ? [answer[0], true] : [answer, false];
  const success = type
    ? { status, type, isArray, description: summary }
    : { status: 204, description: summary };
  return applyDecorators(ApiOperation({ summary }), ApiResponse(success), MayFail());
};
