import { ArgsType } from '@nestjs/graphql';
import { ProjectPath } from '../../../common/api/paths.js';
import { EnumField, IntField, TextField } from '../../../common/api/fields.js';

@ArgsType()
export class EntitySetPath extends ProjectPath {
  @TextField({ description: 'Name of the entity set, as the service document lists it', maxLength: 100 })
  set: string;
}

/** A boolean as an address has it. */
const TrueFalse = { true: 'true', false: 'false' } as const;
type TrueFalse = keyof typeof TrueFalse;

/** Of OData, and not of this feed: each is answered 501. */
class NotCarriedOut {
  @TextField({ description: 'Not supported: 501', maxLength: 4000, optional: true })
  $apply?: string;

  @TextField({ description: 'Not supported: 501', maxLength: 4000, optional: true })
  $compute?: string;

  @TextField({ description: 'Not supported: 501', maxLength: 4000, optional: true })
  $expand?: string;

  @TextField({ description: 'Not supported: 501', maxLength: 4000, optional: true })
  $search?: string;
}

export class FormatQuery {
  @TextField({
    description: 'The form of the answer in place of Accept: json, or xml for $metadata',
    maxLength: 200,
    optional: true,
  })
  $format?: string;
}

export class CountQuery extends NotCarriedOut {
  @TextField({ description: 'Only entities for which the condition holds', maxLength: 8000, optional: true })
  $filter?: string;
}

export class EntitiesQuery extends CountQuery {
  @TextField({
    description: 'Properties to answer, separated by commas; all when not given',
    maxLength: 4000,
    optional: true,
  })
  $select?: string;

  @TextField({
    description:
      'Properties to order by, separated by commas, each followed by asc or desc; the key decides between equals',
    maxLength: 4000,
    optional: true,
  })
  $orderby?: string;

  @IntField({ description: 'Maximum number of entities in all', min: 0, optional: true })
  $top?: number;

  @IntField({ description: 'Number of entities to skip', min: 0, optional: true })
  $skip?: number;

  @EnumField({
    description: 'Whether the answer says how many entities there are',
    values: TrueFalse,
    name: 'TrueFalse',
    optional: true,
  })
  $count?: TrueFalse;

  @TextField({
    description: 'Place in the order, as the link to the next page has it',
    maxLength: 4000,
    optional: true,
  })
  $skiptoken?: string;

  @TextField({
    description: 'The form of the answer in place of Accept: json',
    maxLength: 200,
    optional: true,
  })
  $format?: string;
}
