import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { RevisionArgs } from './revision.models.js';
import { LimitsService } from './limits.service.js';
import { SectionsService } from './sections.service.js';
import {
  DesignSection,
  DesignSectionInput,
  DesignSectionPath,
  GroundClassPath,
  StandardSupport,
  StandardSupportInput,
  SupportLimits,
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
  @Answer('What support the ground classes demand: all revisions, by class', [StandardSupport])
  listStandards(@Param() _path: ProjectPath): Promise<StandardSupport[]> {
    return this.standards.list();
  }

  @Permit('record.read')
  @Get('ground-classes/:code/standard-support')
  @Answer(
    'What support a ground class demands: the revision in force, otherwise the first to come',
    StandardSupport,
  )
  standard(@Param() { code }: GroundClassPath): Promise<StandardSupport> {
    return this.standards.get(code);
  }

  @Permit('catalogue.write')
  @Put('ground-classes/:code/standard-support')
  @Answer(
    'Puts what support a ground class demands, or replaces the revision valid from the same day',
    StandardSupport,
  )
  putStandard(
    @Param() { code }: GroundClassPath,
    @Body() input: StandardSupportInput,
  ): Promise<StandardSupport> {
    return this.standards.put(code, input);
  }

  @Permit('catalogue.write')
  @Delete('ground-classes/:code/standard-support')
  @HttpCode(204)
  @Answer(
    'Removes the standard of a ground class, or one revision: without a standard its demand is not known',
  )
  async removeStandard(
    @Param() { code }: GroundClassPath,
    @Query() { validFrom }: RevisionArgs,
  ): Promise<void> {
    await this.standards.remove(code, validFrom);
  }

  @Permit('record.read')
  @Get('drives/:drive/design-sections')
  @Answer('The design sections of a drive, along it: all revisions', [DesignSection])
  listSections(@Param() { drive }: DrivePath): Promise<DesignSection[]> {
    return this.sections.list(drive);
  }

  @Permit('record.read')
  @Get('drives/:drive/design-sections/:name')
  @Answer('One design section: the revision in force, otherwise the first to come', DesignSection)
  section(@Param() { drive, name }: DesignSectionPath): Promise<DesignSection> {
    return this.sections.get(drive, name);
  }

  @Permit('catalogue.write')
  @Put('drives/:drive/design-sections/:name')
  @Answer('Puts a design section, or replaces the revision valid from the same day', DesignSection)
  putSection(
    @Param() { drive, name }: DesignSectionPath,
    @Body() input: DesignSectionInput,
  ): Promise<DesignSection> {
    return this.sections.put(drive, name, input);
  }

  @Permit('catalogue.write')
  @Delete('drives/:drive/design-sections/:name')
  @HttpCode(204)
  @Answer('Removes a design section, or one revision of it')
  async removeSection(
    @Param() { drive, name }: DesignSectionPath,
    @Query() { validFrom }: RevisionArgs,
  ): Promise<void> {
    await this.sections.remove(drive, name, validFrom);
  }

  @Permit('record.read')
  @Get('drives/:drive/support-limits')
  @Answer('How far behind the face the support of each zone must be complete', SupportLimits)
  getLimits(@Param() { drive }: DrivePath): Promise<SupportLimits> {
    return this.limits.get(drive);
  }

  @Permit('catalogue.write')
  @Put('drives/:drive/support-limits')
  @Answer('Puts the limits of a drive, or replaces the revision valid from the same day', SupportLimits)
  putLimits(@Param() { drive }: DrivePath, @Body() input: SupportLimitsInput): Promise<SupportLimits> {
    return this.limits.put(drive, input);
  }
}
