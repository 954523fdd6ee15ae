import { ApiProperty } from '@nestjs/swagger';
import type { Fault, Problem } from './problem.js';

class FaultAnswer implements Fault {
  @ApiProperty({ enum: ['body', 'path', 'query', 'header'], description: 'Which part of the request' })
  in: Fault['in'];

  @ApiProperty({
    description: 'JSON Pointer (RFC 6901) into the body, or to the parameter',
    example: '/strokes/3/borings/0/from',
  })
  pointer: string;

  @ApiProperty({
    description: 'The value found there: null for null, absent if there was none',
    required: false,
    oneOf: [{ type: 'string' }, { type: 'number' }, { type: 'boolean' }, { type: 'null' as 'string' }],
  })
  value?: unknown;

  @ApiProperty({ description: 'The rule it breaks, in words and figures' })
  detail: string;
}

/** A problem in the OpenAPI document. */
export class ProblemAnswer implements Problem {
  @ApiProperty({
    description: 'Which problem: the address of its explanation',
    example: '/docs/problems#conflict',
  })
  type: string;

  @ApiProperty({ description: 'The problem in a few words' })
  title: string;

  @ApiProperty({ description: 'HTTP status', type: 'integer' })
  status: number;

  @ApiProperty({ description: 'What went wrong in this case' })
  detail: string;

  @ApiProperty({ type: [FaultAnswer], required: false, description: 'One entry for each fault' })
  errors?: FaultAnswer[];

  @ApiProperty({
    required: false,
    type: 'integer',
    description: 'Time to wait before trying again [s]',
  })
  retryAfterS?: number;
}
