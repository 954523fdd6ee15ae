import { Args } from '@nestjs/graphql';
import { InstantScalar } from './scalars.js';

/** The moment as of which a query, and everything below it, is read. The access interceptor uses it; the field itself need not. */
export const AsOf = (): ParameterDecorator =>
  Args('asOf', {
    type: () => InstantScalar,
    nullable: true,
    description: 'Answers as the record stood at this moment; now when absent',
  });
