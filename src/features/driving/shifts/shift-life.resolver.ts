import { Args, ArgsType, Mutation, Query, Resolver } from '@nestjs/graphql';
import { IntField, TextField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { ShiftReceipt } from './shift-document.model.js';
import { ShiftVersion } from './shift-life.models.js';
import { ShiftLifeService } from './shift-life.service.js';
import { ShiftPath } from './shift-path.js';
import { StandingShift } from './shifts.resolver.js';

@ArgsType()
class NamedShift extends ShiftPath {
  @TextField({ description: 'Entity tag of the version that you act on' })
  ifMatch: string;
}

@ArgsType()
class ReopenedShift extends NamedShift {
  @ReasonField({ description: 'Why the shift is reopened' })
  reason: string;
}

@ArgsType()
class DisputedShift extends NamedShift {
  @ReasonField({ description: 'Why the shift is not accepted as it was submitted' })
  reason: string;
}

@ArgsType()
class VersionedShift extends ShiftPath {
  @IntField({ description: 'Number of the change that made the version', min: 1 })
  change: number;
}

@Resolver()
export class ShiftLifeResolver {
  constructor(private readonly life: ShiftLifeService) {}

  @Permit('record.read')
  @Query(() => [ShiftVersion], { description: 'Every version of a shift, the first one first' })
  shiftVersions(@Args() path: ShiftPath): Promise<ShiftVersion[]> {
    return this.life.versions(path);
  }

  @Permit('record.read')
  @Query(() => StandingShift, { description: 'A version of a shift as one document' })
  shiftVersion(@Args() { change, ...path }: VersionedShift): Promise<StandingShift> {
    return this.life.version(path, change);
  }

  @Permit('shift.countersign')
  @Mutation(() => ShiftReceipt, {
    description: 'Countersigns a submitted shift; never by somebody who posted it',
  })
  countersignShift(@Args() { ifMatch, ...path }: NamedShift): Promise<ShiftReceipt> {
    return this.life.countersign(path, ifMatch);
  }

  @Permit('shift.countersign')
  @Mutation(() => ShiftReceipt, {
    description: 'Disputes a submitted shift, with a reason; never by somebody who posted it',
  })
  disputeShift(@Args() { ifMatch, reason, ...path }: DisputedShift): Promise<ShiftReceipt> {
    return this.life.dispute(path, ifMatch, reason);
  }

  @Permit('shift.reopen')
  @Mutation(() => ShiftReceipt, {
    description: 'Reopens a countersigned shift as a draft, with a reason; never by somebody who posted it',
  })
  reopenShift(@Args() { ifMatch, reason, ...path }: ReopenedShift): Promise<ShiftReceipt> {
    return this.life.reopen(path, ifMatch, reason);
  }
}
