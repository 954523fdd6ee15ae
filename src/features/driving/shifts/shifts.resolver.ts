import { Args, ArgsType, Mutation, ObjectType, Query, Resolver } from '@nestjs/graphql';
import { AsOf } from '../../../common/api/as-of.js';
import { BooleanField, ObjectField, TextField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import { ShiftPath } from './shift-path.js';
import { ShiftsService } from './shifts.service.js';

@ObjectType({ description: 'A shift’s document with its entity tag.' })
export class StandingShift {
  @ObjectField(() => ShiftDocument, { description: 'The document; it can be put again as it is' })
  document: ShiftDocument;

  @TextField({ description: 'Its entity tag' })
  etag: string;
}

@ArgsType()
class ReplacedShift extends ShiftPath {
  @TextField({ description: 'Entity tag of the version to remove' })
  ifMatch: string;
}

@ArgsType()
class PutShift extends ShiftPath {
  @TextField({ description: 'Entity tag of the version to replace', optional: true })
  ifMatch?: string;

  @BooleanField({ description: 'Create only: refuse when the shift exists', optional: true })
  createOnly?: boolean;
}

@Resolver()
export class ShiftsResolver {
  constructor(private readonly shifts: ShiftsService) {}

  @Permit('record.read')
  @Query(() => StandingShift, { description: 'A shift as one document' })
  shift(@Args() path: ShiftPath, @AsOf() _asOf?: string): Promise<StandingShift> {
    return this.shifts.get(path);
  }

  @Permit('shift.write')
  @Mutation(() => ShiftReceipt, { description: 'Stores a shift whole, or refuses it; safe to repeat' })
  putShift(
    @Args() { ifMatch, createOnly, ...path }: PutShift,
    @Args('document', { description: 'The shift, whole' }) document: ShiftDocument,
  ): Promise<ShiftReceipt> {
    return this.shifts.put(path, document, {
      ifMatch: ifMatch ?? undefined,
      createOnly: createOnly ?? false,
    });
  }

  @Permit('shift.write')
  @Mutation(() => Boolean, { description: 'Removes a draft shift that was posted in error' })
  async removeShift(@Args() { ifMatch, ...path }: ReplacedShift): Promise<boolean> {
    await this.shifts.remove(path, ifMatch);
    return true;
  }
}
