import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { DrivePath, ProjectPath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { LimitsService } from './limits.service.js';
import { SectionsService } from './sections.service.js';
import {
  DesignSection,
  DesignSectionInput,
  DesignSectionPath,
  GroundClassPath,
  StandardSupport,
  StandardSupportInput,
  SupportLimit,
  SupportLimitsInput,
} from './standard.models.js';
import { StandardsService } from './standards.service.js';

@ApiTags('Support demanded')
@Controller('v1/projects/:project')
export class StandardController {
  constructor(
    private readonly standards: StandardsService,
    private readonly sections: SectionsService,
    private readonly limits: LimitsService,
  ) {}

  @Permit('record.read')
  @Get('standard-support')
  @Answer('What support the ground classes demand, by class', [StandardSupport])
  listStandards(@Param() _path: ProjectPath): Promise<StandardSupport[]> {
    return this.standards.list();
  }

  @Permit('record.read')
  @Get('ground-classes/:code/standard-support')
  @Answer('What support a ground class demands', StandardSupport)
  standard(@Param() { code }: GroundClassPath): Promise<StandardSupport> {
    return this.standards.get(code);
  }

  @Permit('catalogue.write')
  @Put('ground-classes/:code/standard-support')
  @Answer('Puts or replaces what support a ground class demands', StandardSupport)
  putStandard(
    @Param() { code }: GroundClassPath,
    @Body() input: StandardSupportInput,
  ): Promise<StandardSupport> {
    return this.standards.put(code, input);
  }

  @Permit('catalogue.write')
  @Delete('ground-classes/:code/standard-support')
  @HttpCode(204)
  @Answer('Removes the standard of a ground class: what it demands is not known then')
  async removeStandard(@Param() { code }: GroundClassPath): Promise<void> {
    await this.standards.remove(code);
  }

  @Permit('record.read')
  @Get('drives/:drive/design-sections')
  @Answer('The design sections of a drive, along it', [DesignSection])
  listSections(@Param() { drive }: DrivePath): Promise<DesignSection[]> {
    return this.sections.list(drive);
  }

  @Permit('record.read')
  @Get('drives/:drive/design-sections/:name')
  @Answer('One design section', DesignSection)
  section(@Param() { drive, name }: DesignSectionPath): Promise<DesignSection> {
    return this.sections.get(drive, name);
  }

  @Permit('catalogue.write')
  @Put('drives/:drive/design-sections/:name')
  @Answer('Creates or replaces a design section', DesignSection)
  putSection(
    @Param() { drive, name }: DesignSectionPath,
    @Body() input: DesignSectionInput,
  ): Promise<DesignSection> {
    return this.sections.put(drive, name, input);
  }

  @Permit('catalogue.write')
  @Delete('drives/:drive/design-sections/:name')
  @HttpCode(204)
  @Answer('Removes a design section')
  async removeSection(@Param() { drive, name }: DesignSectionPath): Promise<void> {
    await this.sections.remove(drive, name);
  }

  @Permit('record.read')
  @Get('drives/:drive/support-limits')
  @Answer('How far behind the face the support of each zone must be complete', [SupportLimit])
  listLimits(@Param() { drive }: DrivePath): Promise<SupportLimit[]> {
    return this.limits.list(drive);
  }

  @Permit('catalogue.write')
  @Put('drives/:drive/support-limits')
  @Answer('Replaces the limits of a drive', [SupportLimit])
  putLimits(@Param() { drive }: DrivePath, @Body() input: SupportLimitsInput): Promise<SupportLimit[]> {
    return this.limits.put(drive, input);
  }
}
