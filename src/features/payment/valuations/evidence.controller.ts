import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { Creates } from '../../../common/api/location.js';
import { oneOf } from '../../../common/api/one-of.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  DisputeInput,
  DisputePath,
  LumpPath,
  LumpProgress,
  LumpProgressInput,
  QuantityDispute,
  SettlementInput,
} from './evidence.models.js';
import { EvidenceService } from './evidence.service.js';

@ApiTags('Valuations')
@Controller('v1/projects/:project/drives/:drive')
export class EvidenceController {
  constructor(private readonly evidence: EvidenceService) {}

  @Permit('record.read')
  @Get('lump-progress')
  @Answer('How much of the lump sums is done, by day', [LumpProgress])
  lumps(@Param() { drive }: DrivePath): Promise<LumpProgress[]> {
    return this.evidence.lumps(drive);
  }

  @Permit('record.read')
  @Get('lump-progress/:reference/:day')
  @Answer('How much of a lump sum is done by the end of a day', LumpProgress)
  lump(@Param() { drive, reference, day }: LumpPath): Promise<LumpProgress> {
    return oneOf(
      this.evidence.lumps(drive),
      (each) => each.reference === reference && each.day === day,
      `progress of ${reference} by ${day}`,
    );
  }

  @Permit('valuation.write')
  @Put('lump-progress/:reference/:day')
  @Answer('Sets how much of a lump sum is done by the end of a day', LumpProgress)
  putLump(
    @Param() { drive, reference, day }: LumpPath,
    @Body() { percent }: LumpProgressInput,
  ): Promise<LumpProgress> {
    return this.evidence.putLump(drive, reference, day, percent);
  }

  @Permit('valuation.write')
  @Delete('lump-progress/:reference/:day')
  @HttpCode(204)
  @Answer('Removes an entry of a lump sum’s progress')
  async removeLump(@Param() { drive, reference, day }: LumpPath): Promise<void> {
    await this.evidence.removeLump(drive, reference, day);
  }

  @Permit('record.read')
  @Get('quantity-disputes')
  @Answer('The quantities in dispute, and those settled', [QuantityDispute])
  disputes(@Param() { drive }: DrivePath): Promise<QuantityDispute[]> {
    return this.evidence.disputes(drive);
  }

  @Permit('valuation.agree')
  @Post('quantity-disputes')
  @Answer('Disputes a record’s quantity under an item: it is held apart', QuantityDispute, 201)
  @Creates(({ number }: QuantityDispute) => number)
  raise(@Param() { drive }: DrivePath, @Body() input: DisputeInput): Promise<QuantityDispute> {
    return this.evidence.raise(drive, input);
  }

  @Permit('record.read')
  @Get('quantity-disputes/:number')
  @Answer('One quantity in dispute', QuantityDispute)
  dispute(@Param() { drive, number }: DisputePath): Promise<QuantityDispute> {
    return oneOf(this.evidence.disputes(drive), (each) => each.number === number, `dispute ${number}`);
  }

  @Permit('valuation.agree')
  @Post('quantity-disputes/:number/settle')
  @HttpCode(200)
  @Answer(
    'Settles a dispute, or proposes it where two sides sign: settled, the quantity counts from the next valuation on',
    QuantityDispute,
  )
  settle(
    @Param() { drive, number }: DisputePath,
    @Body() { settlement }: SettlementInput,
  ): Promise<QuantityDispute> {
    return this.evidence.settle(drive, number, settlement);
  }
}
