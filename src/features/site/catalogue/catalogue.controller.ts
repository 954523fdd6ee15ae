import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { CodeField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  ActivityCode,
  ActivityCodeInput,
  Equipment,
  EquipmentInput,
  GroundClass,
  GroundClassInput,
} from './catalogue.models.js';
import { CatalogueService } from './catalogue.service.js';
import { SupportItem, SupportItemInput } from './support-item.model.js';

class CodePath extends ProjectPath {
  @CodeField({ description: 'Code or name of the entry' })
  code: string;
}

@ApiTags('Catalogue')
@Controller('v1/projects/:project')
export class CatalogueController {
  constructor(private readonly catalogue: CatalogueService) {}

  @Permit('record.read')
  @Get('activity-codes')
  @Answer('The activity codes', [ActivityCode])
  activityCodes(@Param() _path: ProjectPath): Promise<ActivityCode[]> {
    return this.catalogue.activityCodes();
  }

  @Permit('record.read')
  @Get('activity-codes/:code')
  @Answer('One activity code', ActivityCode)
  activityCode(@Param() { code }: CodePath): Promise<ActivityCode> {
    return this.catalogue.activityCode(code);
  }

  @Permit('catalogue.write')
  @Put('activity-codes/:code')
  @Answer('Creates or replaces an activity code', ActivityCode)
  putActivityCode(@Param() { code }: CodePath, @Body() input: ActivityCodeInput): Promise<ActivityCode> {
    return this.catalogue.putActivityCode(code, input);
  }

  @Permit('catalogue.write')
  @Delete('activity-codes/:code')
  @HttpCode(204)
  @Answer('Removes an activity code that nothing uses')
  async removeActivityCode(@Param() { code }: CodePath): Promise<void> {
    await this.catalogue.removeActivityCode(code);
  }

  @Permit('record.read')
  @Get('equipment')
  @Answer('The equipment', [Equipment])
  equipment(@Param() _path: ProjectPath): Promise<Equipment[]> {
    return this.catalogue.equipment();
  }

  @Permit('record.read')
  @Get('equipment/:code')
  @Answer('One piece of equipment', Equipment)
  pieceOfEquipment(@Param() { code }: CodePath): Promise<Equipment> {
    return this.catalogue.pieceOfEquipment(code);
  }

  @Permit('catalogue.write')
  @Put('equipment/:code')
  @Answer('Creates or replaces a piece of equipment', Equipment)
  putEquipment(@Param() { code }: CodePath, @Body() input: EquipmentInput): Promise<Equipment> {
    return this.catalogue.putEquipment(code, input);
  }

  @Permit('catalogue.write')
  @Delete('equipment/:code')
  @HttpCode(204)
  @Answer('Removes a piece of equipment that nothing uses')
  async removeEquipment(@Param() { code }: CodePath): Promise<void> {
    await this.catalogue.removeEquipment(code);
  }

  @Permit('record.read')
  @Get('ground-classes')
  @Answer('The ground classes', [GroundClass])
  groundClasses(@Param() _path: ProjectPath): Promise<GroundClass[]> {
    return this.catalogue.groundClasses();
  }

  @Permit('record.read')
  @Get('ground-classes/:code')
  @Answer('One ground class', GroundClass)
  groundClass(@Param() { code }: CodePath): Promise<GroundClass> {
    return this.catalogue.groundClass(code);
  }

  @Permit('catalogue.write')
  @Put('ground-classes/:code')
  @Answer('Creates or replaces a ground class', GroundClass)
  putGroundClass(@Param() { code }: CodePath, @Body() input: GroundClassInput): Promise<GroundClass> {
    return this.catalogue.putGroundClass(code, input);
  }

  @Permit('catalogue.write')
  @Delete('ground-classes/:code')
  @HttpCode(204)
  @Answer('Removes a ground class that nothing uses')
  async removeGroundClass(@Param() { code }: CodePath): Promise<void> {
    await this.catalogue.removeGroundClass(code);
  }

  @Permit('record.read')
  @Get('support-items')
  @Answer('The support items', [SupportItem])
  supportItems(@Param() _path: ProjectPath): Promise<SupportItem[]> {
    return this.catalogue.supportItems();
  }

  @Permit('record.read')
  @Get('support-items/:code')
  @Answer('One support item', SupportItem)
  supportItem(@Param() { code }: CodePath): Promise<SupportItem> {
    return this.catalogue.supportItem(code);
  }

  @Permit('catalogue.write')
  @Put('support-items/:code')
  @Answer('Creates or replaces a support item', SupportItem)
  putSupportItem(@Param() { code }: CodePath, @Body() input: SupportItemInput): Promise<SupportItem> {
    return this.catalogue.putSupportItem(code, input);
  }

  @Permit('catalogue.write')
  @Delete('support-items/:code')
  @HttpCode(204)
  @Answer('Removes a support item that nothing uses')
  async removeSupportItem(@Param() { code }: CodePath): Promise<void> {
    await this.catalogue.removeSupportItem(code);
  }
}
