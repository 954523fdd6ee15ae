import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Entitlement, EntitlementInput, EntitlementPath } from './entitlement.models.js';
import { EntitlementResult, HorizonQuery } from './entitlement-result.models.js';
import { EntitlementsService } from './entitlements.service.js';

@ApiTags('Time entitlement')
@Controller('v1/projects/:project/drives/:drive/entitlements')
export class EntitlementsController {
  constructor(private readonly entitlements: EntitlementsService) {}

  @Permit('record.read')
  @Get()
  @Answer('The bases of time entitlement of a drive', [Entitlement])
  list(@Param() { drive }: DrivePath): Promise<Entitlement[]> {
    return this.entitlements.list(drive);
  }

  @Permit('record.read')
  @Get(':entitlement')
  @Answer('One basis of time entitlement', Entitlement)
  get(@Param() { drive, entitlement }: EntitlementPath): Promise<Entitlement> {
    return this.entitlements.get(drive, entitlement);
  }

  @Permit('catalogue.write')
  @Put(':entitlement')
  @Answer('Creates or replaces a basis of time entitlement', Entitlement)
  put(
    @Param() { drive, entitlement }: EntitlementPath,
    @Body() input: EntitlementInput,
  ): Promise<Entitlement> {
    return this.entitlements.put(drive, entitlement, input);
  }

  @Permit('catalogue.write')
  @Delete(':entitlement')
  @HttpCode(204)
  @Answer('Removes a basis of time entitlement')
  async remove(@Param() { drive, entitlement }: EntitlementPath): Promise<void> {
    await this.entitlements.remove(drive, entitlement);
  }

  @Permit('record.read')
  @Heavy()
  @Get(':entitlement/result')
  @Answer('Time by a basis of entitlement: each line, the sum, and the result of the rule', EntitlementResult)
  result(
    @Param() { drive, entitlement }: EntitlementPath,
    @Query() { horizon }: HorizonQuery,
  ): Promise<EntitlementResult> {
    return this.entitlements.result(drive, entitlement, horizon);
  }
}
