import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { applyDecorators } from '@nestjs/common';
import { BooleanField, DateField, TextField } from '../../../common/api/fields.js';
import { Names } from '../../../common/api/rules.js';

const RevisionField = (description: string): PropertyDecorator =>
  applyDecorators(TextField({ description, maxLength: 40, optional: true }), Names('name the revision'));

/** The revision of a list or limit to put. */
@InputType({ isAbstract: true })
export class RevisionInput {
  @DateField({
    description:
      'First production day whose metres it judges; what was bored before stays judged by the revision before it. Absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @RevisionField('Name of the revision, as on the drawing; required with validFrom')
  revision?: string;
}

@ObjectType({ isAbstract: true })
export abstract class Revision {
  @RevisionField('Name of the revision')
  revision?: string;

  @DateField({
    description: 'First production day whose metres it judges; absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @DateField({ description: 'Last such day; absent: no later revision', optional: true })
  validUntil?: string;

  @BooleanField({
    description: 'Whether it is in force on the production day asked for, which is today without asOf',
  })
  isInForce: boolean;
}

/** Chooses a revision. */
export const RevisionFromField = (): PropertyDecorator =>
  DateField({
    description: 'Only the revision that is valid from this day; otherwise all of them',
    optional: true,
  });

@ArgsType()
export class RevisionArgs {
  @RevisionFromField()
  validFrom?: string;
}
