import { Args, ArgsType, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
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

@ArgsType()
class CodeArgs extends ProjectPath {
  @CodeField({ description: 'Code or name of the entry' })
  code: string;
}

@Resolver(() => Project)
export class CatalogueResolver {
  constructor(private readonly catalogue: CatalogueService) {}

  @Permit('record.read')
  @ResolveField(() => [ActivityCode], { description: 'The activity codes' })
  activityCodes(): Promise<ActivityCode[]> {
    return this.catalogue.activityCodes();
  }

  @Permit('record.read')
  @ResolveField(() => [Equipment], { description: 'The equipment' })
  equipment(): Promise<Equipment[]> {
    return this.catalogue.equipment();
  }

  @Permit('record.read')
  @ResolveField(() => [GroundClass], { description: 'The ground classes' })
  groundClasses(): Promise<GroundClass[]> {
    return this.catalogue.groundClasses();
  }

  @Permit('record.read')
  @ResolveField(() => [SupportItem], { description: 'The support items' })
  supportItems(): Promise<SupportItem[]> {
    return this.catalogue.supportItems();
  }

  @Permit('catalogue.write')
  @Mutation(() => ActivityCode, { description: 'Creates or replaces an activity code' })
  putActivityCode(
    @Args() { code }: CodeArgs,
    @Args('input', { description: 'Its new content' }) input: ActivityCodeInput,
  ): Promise<ActivityCode> {
    return this.catalogue.putActivityCode(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes an activity code that nothing uses' })
  async removeActivityCode(@Args() { code }: CodeArgs): Promise<boolean> {
    await this.catalogue.removeActivityCode(code);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => Equipment, { description: 'Creates or replaces a piece of equipment' })
  putEquipment(
    @Args() { code }: CodeArgs,
    @Args('input', { description: 'Its new content' }) input: EquipmentInput,
  ): Promise<Equipment> {
    return this.catalogue.putEquipment(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a piece of equipment that nothing uses' })
  async removeEquipment(@Args() { code }: CodeArgs): Promise<boolean> {
    await this.catalogue.removeEquipment(code);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => GroundClass, { description: 'Creates or replaces a ground class' })
  putGroundClass(
    @Args() { code }: CodeArgs,
    @Args('input', { description: 'Its new content' }) input: GroundClassInput,
  ): Promise<GroundClass> {
    return this.catalogue.putGroundClass(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a ground class that nothing uses' })
  async removeGroundClass(@Args() { code }: CodeArgs): Promise<boolean> {
    await this.catalogue.removeGroundClass(code);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => SupportItem, { description: 'Creates or replaces a support item' })
  putSupportItem(
    @Args() { code }: CodeArgs,
    @Args('input', { description: 'Its new content' }) input: SupportItemInput,
  ): Promise<SupportItem> {
    return this.catalogue.putSupportItem(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a support item that nothing uses' })
  async removeSupportItem(@Args() { code }: CodeArgs): Promise<boolean> {
    await this.catalogue.removeSupportItem(code);
    return true;
  }
}
