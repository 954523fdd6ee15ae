import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { AsBuilt, ChainageRange } from './as-built.models.js';
import { OpenItem } from './open-item.model.js';
import { RecordService } from './record.service.js';

@ApiTags('Record')
@Heavy()
@Controller('v1/projects/:project/drives/:drive')
export class RecordController {
  constructor(private readonly record: RecordService) {}

  @Permit('record.read')
  @Get('open-items')
  @Answer('What the record still misses: metres, minutes, shifts', [OpenItem])
  openItems(@Param() { drive }: DrivePath): Promise<OpenItem[]> {
    return this.record.openItems(drive);
  }

  @Permit('record.read')
  @Get('as-built')
  @Answer('As-built record of a chainage interval', AsBuilt)
  asBuilt(@Param() { drive }: DrivePath, @Query() range: ChainageRange): Promise<AsBuilt> {
    return this.record.asBuilt(drive, range);
  }
}
