import { Args } from '@nestjs/graphql';
import { InstantScalar } from './scalars.js';

/** The moment that a query, and all under it, is asked of. The access interceptor reads it; its field need not. */
export const AsOf = (): ParameterDecorator =>
  Args('asOf', {
    type: () => InstantScalar,
    nullable: true,
    description: 'Answers as the record stood at this moment; now when absent',
  });
