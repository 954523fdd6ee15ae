import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  HoldPoint,
  HoldPointInput,
  HoldPointPath,
  HoldPointReleaseInput,
  HoldPointWithdrawalInput,
} from './hold-point.models.js';
import { HoldPointsService } from './hold-points.service.js';

@ApiTags('Hold points')
@Controller('v1/projects/:project/drives/:drive/hold-points')
export class HoldPointsController {
  constructor(private readonly points: HoldPointsService) {}

  @Permit('record.read')
  @Get()
  @Answer('The hold points of a drive, along it', [HoldPoint])
  list(@Param() { drive }: DrivePath): Promise<HoldPoint[]> {
    return this.points.list(drive);
  }

  @Permit('record.read')
  @Get(':code')
  @Answer('One hold point', HoldPoint)
  get(@Param() { drive, code }: HoldPointPath): Promise<HoldPoint> {
    return this.points.get(drive, code);
  }

  @Permit('hold_point.write')
  @Put(':code')
  @Answer('Sets a hold point; one that stands is replaced by the releasing side only', HoldPoint)
  put(@Param() { drive, code }: HoldPointPath, @Body() input: HoldPointInput): Promise<HoldPoint> {
    return this.points.put(drive, code, input);
  }

  @Permit('hold_point.write')
  @Delete(':code')
  @HttpCode(204)
  @Answer('Removes a hold point that was never released; by the releasing side only')
  async remove(@Param() { drive, code }: HoldPointPath): Promise<void> {
    await this.points.remove(drive, code);
  }

  @Permit('hold_point.release')
  @Post(':code/release')
  @HttpCode(200)
  @Answer('Releases a hold point, for the releasing side', HoldPoint)
  release(@Param() { drive, code }: HoldPointPath, @Body() input: HoldPointReleaseInput): Promise<HoldPoint> {
    return this.points.release(drive, code, input);
  }

  @Permit('hold_point.release')
  @Post(':code/withdraw-release')
  @HttpCode(200)
  @Answer('Withdraws the release of a hold point, for a reason', HoldPoint)
  withdraw(
    @Param() { drive, code }: HoldPointPath,
    @Body() { reason }: HoldPointWithdrawalInput,
  ): Promise<HoldPoint> {
    return this.points.withdraw(drive, code, reason);
  }
}
