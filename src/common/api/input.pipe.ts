import { type ArgumentMetadata, Injectable, ValidationPipe } from '@nestjs/common';
import type { ValidationError } from 'class-validator';
import { PageArgs } from './paging.js';
import { ProjectPath } from './paths.js';
import { type Fault, faultsOf, faulty } from './problem.js';

const PLACES: Record<ArgumentMetadata['type'], Fault['in']> = {
  body: 'body',
  param: 'path',
  query: 'query',
  custom: 'body',
};

class Refused extends Error {
  constructor(readonly errors: ValidationError[]) {
    super();
  }
}

const validator = (forbidNonWhitelisted: boolean): ValidationPipe =>
  new ValidationPipe({
    transform: true,
    whitelist: true,
    forbidNonWhitelisted,
    stopAtFirstError: true,
    exceptionFactory: (errors) => new Refused(errors),
  });

/** Validates what comes in, for both APIs: unknown fields are refused, and every fault is told with its place. */
@Injectable()
export class InputPipe {
  private readonly strict = validator(true);
  private readonly lenient = validator(false);

  async transform(value: unknown, metadata: ArgumentMetadata): Promise<unknown> {
    const pipe = isArguments(metadata) ? this.lenient : this.strict;
    try {
      return (await pipe.transform(value, metadata)) as unknown;
    } catch (error) {
      if (error instanceof Refused) throw faulty('invalid', faultsOf(error.errors, PLACES[metadata.type]));
      throw error;
    }
  }
}

/** GraphQL hands these classes all arguments of the field, the input too; unknown ones it has refused itself. */
const isArguments = ({ type, metatype }: ArgumentMetadata): boolean =>
  type === 'body' &&
  (metatype === PageArgs || metatype === ProjectPath || metatype?.prototype instanceof ProjectPath);
