import { ObjectType } from '@nestjs/graphql';
import { CodeField, DecimalField, TextField } from '../../../common/api/fields.js';

/** The properties that identify a pay item. */
@ObjectType({ isAbstract: true })
export class OfPayItem {
  @CodeField({ description: 'Version of the bill' })
  version: string;

  @CodeField({ description: 'Reference of the item' })
  reference: string;
}

/** The item of a line, as in the bill, and its classes in dispute. */
@ObjectType({ isAbstract: true })
export class PayItemLine extends OfPayItem {
  @TextField({ description: 'Code of its group', optional: true })
  groupCode?: string;

  @TextField({ description: 'Title of its group', optional: true })
  groupTitle?: string;

  @TextField({ description: 'Description' })
  description: string;

  @TextField({ description: 'Unit' })
  unit: string;

  @DecimalField({ description: 'Quantity of the bill [unit]', decimals: 6 })
  billQuantity: string;

  @DecimalField({
    description:
      'Held apart, in no other quantity of this item: disputed, or counted only by a class that is not agreed [unit]',
    decimals: 6,
  })
  heldQuantity: string;
}
