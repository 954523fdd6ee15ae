import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Project } from '../../site/projects/project.model.js';
import { LimitsService } from './limits.service.js';
import { SectionsService } from './sections.service.js';
import {
  DesignSection,
  DesignSectionInput,
  DesignSectionPath,
  DesignSectionRevision,
  GroundClassPath,
  GroundClassRevision,
  StandardSupport,
  StandardSupportInput,
  SupportLimit,
  SupportLimits,
  SupportLimitsInput,
} from './standard.models.js';
import { StandardsService } from './standards.service.js';

@Resolver(() => Project)
export class StandardResolver {
  constructor(private readonly standards: StandardsService) {}

  @Permit('record.read')
  @ResolveField(() => [StandardSupport], {
    description: 'What support the ground classes demand: all revisions, by class',
  })
  standardSupport(): Promise<StandardSupport[]> {
    return this.standards.list();
  }

  @Permit('catalogue.write')
  @Mutation(() => StandardSupport, {
    description: 'Puts what support a ground class demands, or replaces the revision valid from the same day',
  })
  putGroundClassStandardSupport(
    @Args() { code }: GroundClassPath,
    @Args('input', { description: 'Its new content' }) input: StandardSupportInput,
  ): Promise<StandardSupport> {
    return this.standards.put(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, {
    description:
      'Removes the standard of a ground class, or one revision: without a standard its demand is not known',
  })
  async removeGroundClassStandardSupport(@Args() { code, validFrom }: GroundClassRevision): Promise<boolean> {
    await this.standards.remove(code, validFrom);
    return true;
  }
}

@Resolver(() => Drive)
export class DesignResolver {
  constructor(
    private readonly sections: SectionsService,
    private readonly limits: LimitsService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [DesignSection], { description: 'The design sections, along the drive: all revisions' })
  designSections(@Parent() { code }: Drive): Promise<DesignSection[]> {
    return this.sections.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => [SupportLimit], {
    description: 'How far behind the face the support of each zone must be complete: all revisions',
  })
  supportLimits(@Parent() { code }: Drive): Promise<SupportLimit[]> {
    return this.limits.list(code);
  }

  @Permit('catalogue.write')
  @Mutation(() => DesignSection, {
    description: 'Puts a design section, or replaces the revision valid from the same day',
  })
  putDesignSection(
    @Args() { drive, name }: DesignSectionPath,
    @Args('input', { description: 'Its new content' }) input: DesignSectionInput,
  ): Promise<DesignSection> {
    return this.sections.put(drive, name, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a design section, or one revision of it' })
  async removeDesignSection(@Args() { drive, name, validFrom }: DesignSectionRevision): Promise<boolean> {
    await this.sections.remove(drive, name, validFrom);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => SupportLimits, {
    description: 'Puts the limits of a drive, or replaces the revision valid from the same day',
  })
  putSupportLimits(
    @Args() { drive }: DrivePath,
    @Args('input', { description: 'Its new content' }) input: SupportLimitsInput,
  ): Promise<SupportLimits> {
    return this.limits.put(drive, input);
  }
}
