import { Field } from '@nestjs/graphql';
import { ListField } from '../../../common/api/fields.js';
import { RecordDoubt } from './doubt.models.js';

const WHAT = 'Doubts about it that nobody confirmed, as the record is now';

/** The doubts about a record, of the class that REST answers about that one record. */
export const DoubtsField = (): PropertyDecorator => ListField(() => RecordDoubt, { description: WHAT });

/** The same in GraphQL, where answers about one record and about several have one type. */
export const DoubtsOfOneField = (): PropertyDecorator =>
  Field(() => [RecordDoubt], {
    description: `${WHAT}; absent where it is one of several, of which recordDoubts of the drive has all`,
    nullable: true,
    complexity: 1, // in a list it is absent
  });
