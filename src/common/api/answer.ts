import { applyDecorators, type Type } from '@nestjs/common';
import { ApiExtension, ApiExtraModels, ApiOperation, ApiResponse, getSchemaPath } from '@nestjs/swagger';
import { ProblemAnswer } from './problem.model.js';
import type { ProblemCode } from './problems.js';

/** Describes a route and its answer for the OpenAPI document: a class, a list of one class, or nothing. Failures are declared for all routes in one place. */
export const Answer = (summary: string, answer?: Type | [Type], status = 200): MethodDecorator => {
  const [type, isArray] = Array.isArray(answer) ? [answer[0], true] : [answer, false];
  const success = type
    ? { status, type, isArray, description: summary }
    : { status: 204, description: summary };
  return applyDecorators(ApiOperation({ summary }), ApiResponse(success));
};

interface Events {
  description: string;
  /** Class of the JSON data of the events. */
  data: Type;
}

/** The blocks of a stream with the schema of each event type's data, by event type: OpenAPI 3.1 has no schema for streams. */
const eventStream = ({ description, data }: Events): object => ({
  type: 'string',
  description: `${description} A stream that fails ends with an event \`problem\`. The format is that of the HTML standard (section 9.2); \`x-events\` has the schema of the data of each type of event.`,
  'x-events': {
    message: { $ref: getSchemaPath(data) },
    problem: { $ref: getSchemaPath(ProblemAnswer) },
  },
});

/** OpenAPI extension that holds the schema of an event stream; the document turns it into a content type of the answer. */
export const EVENTS = 'x-event-stream';

/** Describes a route and its answer: a page or, where Accept asks for text/event-stream, events as they happen. */
export const PageOrEvents = (summary: string, page: Type, events: Events): MethodDecorator =>
  applyDecorators(
    Answer(summary, page),
    ApiExtraModels(events.data),
    ApiExtension(EVENTS, eventStream(events)),
  );

/** OpenAPI extension that holds the other content types of an answer with their schemas; the document adds them to the answer. */
export const OTHER_FORMS = 'x-other-forms';

/** Describes a route and its answer: a class as JSON, or the same content in other types as Accept asks. */
export const AnswerIn = (summary: string, answer: Type, others: Record<string, object>): MethodDecorator =>
  applyDecorators(Answer(summary, answer), ApiExtension(OTHER_FORMS, others));

/** OpenAPI extension that holds the failures specific to a route; the document removes it after declaring them. */
export const FAILS = 'x-fails';

/** The route can fail in these ways, beyond the failures common to all routes. */
export const Fails = (...codes: ProblemCode[]): MethodDecorator => ApiExtension(FAILS, codes);
