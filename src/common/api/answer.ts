import { applyDecorators, type Type } from '@nestjs/common';
import { ApiExtension, ApiExtraModels, ApiOperation, ApiResponse, getSchemaPath } from '@nestjs/swagger';
import { ProblemAnswer } from './problem.model.js';
import type { ProblemCode } from './problems.js';

/** What a route does and answers, for the OpenAPI document: a class, a list of one, or nothing. How it may fail is said there of all. */
export const Answer = (summary: string, answer?: Type | [Type], status = 200): MethodDecorator => {
  const [type, isArray] = Array.isArray(answer) ? [answer[0], true] : [answer, false];
  const success = type
    ? { status, type, isArray, description: summary }
    : { status: 204, description: summary };
  return applyDecorators(ApiOperation({ summary }), ApiResponse(success));
};

interface Events {
  description: string;
  /** Of the data of its events, in JSON. */
  data: Type;
}

/** The blocks of a stream, and the schema of the data of each of its events: by its type, as a stream has no schema of its own in OpenAPI 3.1. */
const eventStream = ({ description, data }: Events): object => ({
  type: 'string',
  description: `${description} A stream that fails ends with an event \`problem\`. The format is that of the HTML standard (section 9.2); \`x-events\` has the schema of the data of each type of event.`,
  'x-events': {
    message: { $ref: getSchemaPath(data) },
    problem: { $ref: getSchemaPath(ProblemAnswer) },
  },
});

/** Where the OpenAPI document finds the schema of an event stream; it is made a content type of the answer there. */
export const EVENTS = 'x-event-stream';

/** What a route does and answers: a page, or by Accept: text/event-stream events as they come. */
export const PageOrEvents = (summary: string, page: Type, events: Events): MethodDecorator =>
  applyDecorators(
    Answer(summary, page),
    ApiExtraModels(events.data),
    ApiExtension(EVENTS, eventStream(events)),
  );

/** Where the OpenAPI document finds the other content types of an answer, each with its schema; they are made content types of it there. */
export const OTHER_FORMS = 'x-other-forms';

/** What a route does and answers: a class as JSON, or by Accept the same in other content types. */
export const AnswerIn = (summary: string, answer: Type, others: Record<string, object>): MethodDecorator =>
  applyDecorators(Answer(summary, answer), ApiExtension(OTHER_FORMS, others));

/** Where the OpenAPI document finds in which ways a route fails that others of its kind do not; it is taken out there. */
export const FAILS = 'x-fails';

/** The route fails in ways that others of its kind do not. */
export const Fails = (...codes: ProblemCode[]): MethodDecorator => ApiExtension(FAILS, codes);
