import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../common/api/fields.js';
import { ProjectPath } from '../../common/api/paths.js';
import { Project } from '../projects/project.model.js';
import {
  ActivityCode,
  ActivityCodeInput,
  CalendarShift,
  CalendarShiftInput,
  GroundClass,
  GroundClassInput,
  SupportItem,
  SupportItemInput,
} from './catalogue.models.js';
import { CatalogueService } from './catalogue.service.js';

@ArgsType()
class CodeArgs extends ProjectPath {
  @CodeField({ description: 'Code or name of the entry' })
  code: string;
}

@Resolver(() => Project)
export class CatalogueResolver {
  constructor(private readonly catalogue: CatalogueService) {}

  @ResolveField(() => [CalendarShift], { description: 'The shifts of the calendar' })
  calendarShifts(@Parent() { code }: Project): Promise<CalendarShift[]> {
    return this.catalogue.calendarShifts(code);
  }

  @ResolveField(() => [ActivityCode], { description: 'The activity codes' })
  activityCodes(@Parent() { code }: Project): Promise<ActivityCode[]> {
    return this.catalogue.activityCodes(code);
  }

  @ResolveField(() => [GroundClass], { description: 'The ground classes' })
  groundClasses(@Parent() { code }: Project): Promise<GroundClass[]> {
    return this.catalogue.groundClasses(code);
  }

  @ResolveField(() => [SupportItem], { description: 'The support items' })
  supportItems(@Parent() { code }: Project): Promise<SupportItem[]> {
    return this.catalogue.supportItems(code);
  }

  @Mutation(() => CalendarShift, { description: 'Creates or replaces a shift of the calendar' })
  putCalendarShift(
    @Args() { project, code }: CodeArgs,
    @Args('input') input: CalendarShiftInput,
  ): Promise<CalendarShift> {
    return this.catalogue.putCalendarShift(project, code, input);
  }

  @Mutation(() => ActivityCode, { description: 'Creates or replaces an activity code' })
  putActivityCode(
    @Args() { project, code }: CodeArgs,
    @Args('input') input: ActivityCodeInput,
  ): Promise<ActivityCode> {
    return this.catalogue.putActivityCode(project, code, input);
  }

  @Mutation(() => GroundClass, { description: 'Creates or replaces a ground class' })
  putGroundClass(
    @Args() { project, code }: CodeArgs,
    @Args('input') input: GroundClassInput,
  ): Promise<GroundClass> {
    return this.catalogue.putGroundClass(project, code, input);
  }

  @Mutation(() => SupportItem, { description: 'Creates or replaces a support item' })
  putSupportItem(
    @Args() { project, code }: CodeArgs,
    @Args('input') input: SupportItemInput,
  ): Promise<SupportItem> {
    return this.catalogue.putSupportItem(project, code, input);
  }
}
