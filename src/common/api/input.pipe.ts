import { type ArgumentMetadata, Injectable, ValidationPipe } from '@nestjs/common';
import type { ValidationError } from 'class-validator';
import { inheritedNames } from './inherited-names.js';
import { isHeavy, Judge } from './judge.js';
import { quicklyJudged } from './quick-judge.js';
import { PageArgs } from './paging.js';
import { ProjectPath } from './paths.js';
import './remembered-rules.js';
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
    validationError: { target: true, value: true }, // the class lists the allowed fields
    stopAtFirstError: true,
    exceptionFactory: (errors) => new Refused(errors),
  });

/**
 * Validates input for both APIs: unknown fields are refused, and every fault is reported with its place. A large document is
 * validated over several turns of the event loop, so that no other request waits for it.
 */
@Injectable()
export class InputPipe {
  private readonly strict = validator(true);
  private readonly lenient = validator(false);

  async transform(value: unknown, metadata: ArgumentMetadata): Promise<unknown> {
    const isLenient = isArguments(metadata);
    const { metatype, type } = metadata;
    if (metatype && hasRules(metadata)) {
      if (Array.isArray(value) || (value === null && type === 'body'))
        throw faulty('invalid', [{ in: PLACES[type], pointer: '', detail: `the ${type} must be an object` }]);
      const isLarge = isHeavy(value);
      const quick = isLenient || isLarge ? undefined : quicklyJudged(metatype as new () => object, value);
      if (quick) return quick;
      if (isLarge) return new Judge(!isLenient, PLACES[type]).judge(metatype, value);
      const inherited = isLenient ? [] : inheritedNames(value, PLACES[type]);
      if (inherited.length > 0) throw faulty('invalid', inherited);
    }
    try {
      return (await (isLenient ? this.lenient : this.strict).transform(value, metadata)) as unknown;
    } catch (error) {
      if (error instanceof Refused) throw faulty('invalid', faultsOf(error.errors, PLACES[type], value));
      throw error;
    }
  }
}

const PLAIN: unknown[] = [String, Boolean, Number, Array, Object, Buffer, Date];

const hasRules = ({ type, metatype }: ArgumentMetadata): boolean =>
  type !== 'custom' && !PLAIN.includes(metatype);

/** GraphQL passes all arguments of the field to these classes, the input included; it has already refused unknown ones. */
const isArguments = ({ type, metatype }: ArgumentMetadata): boolean =>
  type === 'body' &&
  [PageArgs, ProjectPath].some((each) => metatype === each || metatype?.prototype instanceof each);
