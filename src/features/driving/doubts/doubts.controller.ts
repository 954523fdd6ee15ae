import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { DoubtLimitPath, DoubtLimits, DoubtLimitsInput } from './doubt-limits.models.js';
import { DoubtLimitsService } from './doubt-limits.service.js';
import { RecordDoubt } from './doubt.models.js';
import { DoubtsService } from './doubts.service.js';

@ApiTags('Record')
@Controller('v1/projects/:project')
export class DoubtsController {
  constructor(
    private readonly doubts: DoubtsService,
    private readonly limits: DoubtLimitsService,
  ) {}

  @Permit('record.read')
  @Get('doubt-limits')
  @Answer('Plausibility limits, by the date from which the limits are in force', [DoubtLimits])
  list(@Param() _path: ProjectPath): Promise<DoubtLimits[]> {
    return this.limits.list();
  }

  @Permit('record.read')
  @Get('doubt-limits/:validFrom')
  @Answer('The limits of doubt from a date on', DoubtLimits)
  get(@Param() { validFrom }: DoubtLimitPath): Promise<DoubtLimits> {
    return this.limits.get(validFrom);
  }

  @Permit('project.write')
  @Put('doubt-limits/:validFrom')
  @Answer(
    'Creates or replaces the limits of doubt from a date on; what is not given has its default',
    DoubtLimits,
  )
  put(@Param() { validFrom }: DoubtLimitPath, @Body() input: DoubtLimitsInput): Promise<DoubtLimits> {
    return this.limits.put(validFrom, input);
  }

  @Permit('project.write')
  @Delete('doubt-limits/:validFrom')
  @HttpCode(204)
  @Answer('Removes the limits of doubt from a date on')
  async remove(@Param() { validFrom }: DoubtLimitPath): Promise<void> {
    await this.limits.remove(validFrom);
  }

  @Permit('record.read')
  @Heavy()
  @Get('drives/:drive/record-doubts')
  @Answer('Implausible entries, confirmed or not; a date range selects by shift', [RecordDoubt])
  ofDrive(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<RecordDoubt[]> {
    return this.doubts.ofDrive(drive, range);
  }
}
