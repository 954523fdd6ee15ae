import { applyDecorators } from '@nestjs/common';
import { Matches } from 'class-validator';
import { type FieldOptions, TextField } from '../../common/api/fields.js';

/** As an access token may name one: `key:…` and `local` are given by the service itself. */
const SUBJECT = /^(?!key:)(?!local$)[^\p{Cc}\p{Cs}]{1,255}$/u;
const SUBJECT_RULE =
  'must be 1 to 255 characters without control characters; "local" and what begins with "key:" are the service’s own';

/** The rule that a text breaks as a subject, in words; undefined: none. */
export const subjectFault = (value: string): string | undefined =>
  SUBJECT.test(value) ? undefined : SUBJECT_RULE;

/** `sub` of the access tokens of a person or a program. */
export const SubjectField = (options: FieldOptions): PropertyDecorator =>
  applyDecorators(
    TextField({ ...options, maxLength: 255 }),
    Matches(SUBJECT, { message: `$property ${SUBJECT_RULE}` }),
  );
