import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { LedgerIntervalArgs, ParetoArgs, StopArgs, UtilisationArgs } from './ledger.args.js';
import {
  LedgerByCode,
  LedgerByEquipment,
  LedgerByGroundClass,
  LedgerByInterval,
  LedgerByParty,
  LedgerByShift,
  LedgerByTimeClass,
  LedgerByWeek,
  LedgerStop,
  ParetoCode,
} from './ledger.models.js';
import { LedgerService } from './ledger.service.js';
import { Reliability, Utilisation } from './utilisation.models.js';
import { UtilisationService } from './utilisation.service.js';

@Heavy()
@Resolver(() => Drive)
export class LedgerResolver {
  constructor(
    private readonly ledger: LedgerService,
    private readonly times: UtilisationService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [LedgerByCode], { description: 'Hours by activity code' })
  ledgerByCode(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByCode[]> {
    return this.ledger.codes(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByTimeClass], { description: 'Hours by time class' })
  ledgerByTimeClass(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByTimeClass[]> {
    return this.ledger.timeClasses(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByParty], { description: 'Hours by the party responsible for them' })
  ledgerByParty(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByParty[]> {
    return this.ledger.parties(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByEquipment], { description: 'Hours by the equipment that they concern' })
  ledgerByEquipment(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByEquipment[]> {
    return this.ledger.equipment(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByShift], { description: 'Hours by shift' })
  async ledgerByShift(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByShift[]> {
    return (await this.ledger.shifts(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByWeek], { description: 'Hours by ISO week of production days' })
  ledgerByWeek(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByWeek[]> {
    return this.ledger.weeks(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByGroundClass], {
    description: 'Hours by ground class, with non-boring and lost hours per 100 m bored in it',
  })
  ledgerByGroundClass(@Parent() { code }: Drive, @Args() range: DateRange): Promise<LedgerByGroundClass[]> {
    return this.ledger.groundClasses(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerByInterval], {
    description: 'Hours by intervals on round chainages in which the face stood',
  })
  async ledgerByInterval(
    @Parent() { code }: Drive,
    @Args() asked: LedgerIntervalArgs,
  ): Promise<LedgerByInterval[]> {
    return (await this.ledger.intervals(code, asked)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [ParetoCode], {
    description: 'Codes by non-boring or lost hours, largest first, with cumulative shares',
  })
  pareto(@Parent() { code }: Drive, @Args() asked: ParetoArgs): Promise<ParetoCode[]> {
    return this.ledger.pareto(code, asked);
  }

  @Permit('record.read')
  @ResolveField(() => [Utilisation], { description: 'Boring time over shift, working and calendar time' })
  utilisation(@Parent() { code }: Drive, @Args() asked: UtilisationArgs): Promise<Utilisation[]> {
    return this.times.utilisation(code, asked);
  }

  @Permit('record.read')
  @ResolveField(() => Reliability, {
    description: 'Mechanical availability, MTBF and MTTR, of the drive and by equipment',
  })
  reliability(@Parent() { code }: Drive, @Args() range: DateRange): Promise<Reliability> {
    return this.times.reliability(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [LedgerStop], {
    description: 'The longest stops: adjoining time of one code, whole even across shifts',
  })
  ledgerStops(@Parent() { code }: Drive, @Args() asked: StopArgs): Promise<LedgerStop[]> {
    return this.ledger.stops(code, asked);
  }
}
