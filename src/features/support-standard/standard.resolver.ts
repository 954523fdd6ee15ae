import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DrivePath } from '../../common/api/paths.js';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { Project } from '../projects/project.model.js';
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

@Resolver(() => Project)
export class StandardResolver {
  constructor(private readonly standards: StandardsService) {}

  @Permit('record.read')
  @ResolveField(() => [StandardSupport], { description: 'What support the ground classes demand, by class' })
  standardSupport(): Promise<StandardSupport[]> {
    return this.standards.list();
  }

  @Permit('catalogue.write')
  @Mutation(() => StandardSupport, { description: 'Puts or replaces what support a ground class demands' })
  putStandardSupport(
    @Args() { code }: GroundClassPath,
    @Args('input') input: StandardSupportInput,
  ): Promise<StandardSupport> {
    return this.standards.put(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, {
    description: 'Removes the standard of a ground class: what it demands is not known then',
  })
  async removeStandardSupport(@Args() { code }: GroundClassPath): Promise<boolean> {
    await this.standards.remove(code);
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
  @ResolveField(() => [DesignSection], { description: 'The design sections, along the drive' })
  designSections(@Parent() { code }: Drive): Promise<DesignSection[]> {
    return this.sections.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => [SupportLimit], {
    description: 'How far behind the face the support of each zone must be complete',
  })
  supportLimits(@Parent() { code }: Drive): Promise<SupportLimit[]> {
    return this.limits.list(code);
  }

  @Permit('catalogue.write')
  @Mutation(() => DesignSection, { description: 'Creates or replaces a design section' })
  putDesignSection(
    @Args() { drive, name }: DesignSectionPath,
    @Args('input') input: DesignSectionInput,
  ): Promise<DesignSection> {
    return this.sections.put(drive, name, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a design section' })
  async removeDesignSection(@Args() { drive, name }: DesignSectionPath): Promise<boolean> {
    await this.sections.remove(drive, name);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => [SupportLimit], { description: 'Replaces the limits of a drive' })
  putSupportLimits(
    @Args() { drive }: DrivePath,
    @Args('input') input: SupportLimitsInput,
  ): Promise<SupportLimit[]> {
    return this.limits.put(drive, input);
  }
}
