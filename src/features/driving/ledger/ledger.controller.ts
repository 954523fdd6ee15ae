import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
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

@ApiTags('Time ledger')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/ledger')
export class LedgerController {
  constructor(
    private readonly ledger: LedgerService,
    private readonly times: UtilisationService,
  ) {}

  @Permit('record.read')
  @Get('codes')
  @Answer('Hours by activity code', [LedgerByCode])
  codes(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByCode[]> {
    return this.ledger.codes(drive, range);
  }

  @Permit('record.read')
  @Get('time-classes')
  @Answer('Hours by time class', [LedgerByTimeClass])
  timeClasses(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByTimeClass[]> {
    return this.ledger.timeClasses(drive, range);
  }

  @Permit('record.read')
  @Get('parties')
  @Answer('Hours by the party responsible for them', [LedgerByParty])
  parties(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByParty[]> {
    return this.ledger.parties(drive, range);
  }

  @Permit('record.read')
  @Get('equipment')
  @Answer('Hours by the equipment that they concern', [LedgerByEquipment])
  equipment(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByEquipment[]> {
    return this.ledger.equipment(drive, range);
  }

  @Permit('record.read')
  @Get('shifts')
  @Answer('Hours by shift', [LedgerByShift])
  shifts(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<LedgerByShift>> {
    return this.ledger.shifts(drive, range);
  }

  @Permit('record.read')
  @Get('weeks')
  @Answer('Hours by ISO week of production days', [LedgerByWeek])
  weeks(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByWeek[]> {
    return this.ledger.weeks(drive, range);
  }

  @Permit('record.read')
  @Get('ground-classes')
  @Answer('Hours by ground class, with non-boring and lost hours per 100 m bored in it', [
    LedgerByGroundClass,
  ])
  groundClasses(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<LedgerByGroundClass[]> {
    return this.ledger.groundClasses(drive, range);
  }

  @Permit('record.read')
  @Get('intervals')
  @Answer('Hours by intervals on round chainages in which the face stood', [LedgerByInterval])
  intervals(
    @Param() { drive }: DrivePath,
    @Query() asked: LedgerIntervalArgs,
  ): Promise<JsonRows<LedgerByInterval>> {
    return this.ledger.intervals(drive, asked);
  }

  @Permit('record.read')
  @Get('pareto')
  @Answer('Codes by non-boring or lost hours, largest first, with cumulative shares', [ParetoCode])
  pareto(@Param() { drive }: DrivePath, @Query() asked: ParetoArgs): Promise<ParetoCode[]> {
    return this.ledger.pareto(drive, asked);
  }

  @Permit('record.read')
  @Get('utilisation')
  @Answer('Boring time over shift, working and calendar time', [Utilisation])
  utilisation(@Param() { drive }: DrivePath, @Query() asked: UtilisationArgs): Promise<Utilisation[]> {
    return this.times.utilisation(drive, asked);
  }

  @Permit('record.read')
  @Get('reliability')
  @Answer('Mechanical availability, MTBF and MTTR, of the drive and by equipment', Reliability)
  reliability(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<Reliability> {
    return this.times.reliability(drive, range);
  }

  @Permit('record.read')
  @Get('stops')
  @Answer('The longest stops: adjoining time of one code, whole even across shifts', [LedgerStop])
  stops(@Param() { drive }: DrivePath, @Query() asked: StopArgs): Promise<LedgerStop[]> {
    return this.ledger.stops(drive, asked);
  }
}
