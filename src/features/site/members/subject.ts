import { applyDecorators } from '@nestjs/common';
import { ValidateBy } from 'class-validator';
import { type FieldOptions, TextField } from '../../../common/api/fields.js';
import { isTokenSubject } from '../../../common/auth/principal.js';

const SUBJECT_RULE =
  'must be 1 to 255 characters without control characters; "local" and names that begin with "key:" are reserved';

/** What is wrong with a text as a subject; undefined: nothing. */
export const subjectFault = (value: string): string | undefined =>
  isTokenSubject(value) ? undefined : SUBJECT_RULE;

/** `sub` of the access tokens of a person or a program. */
export const SubjectField = (options: FieldOptions): PropertyDecorator =>
  applyDecorators(
    TextField({ ...options, maxLength: 255 }),
    ValidateBy(
      {
        name: 'isSubject',
        validator: { validate: (value) => typeof value === 'string' && isTokenSubject(value) },
      },
      { message: `$property ${SUBJECT_RULE}` },
    ),
  );
