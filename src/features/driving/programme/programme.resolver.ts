import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  Programme,
  ProgrammeArgs,
  ProgrammeDay,
  ProgrammeInput,
  ProgrammePath,
  ProgrammeSummary,
} from './programme.models.js';
import { ProgrammeService } from './programme.service.js';

@Resolver(() => Drive)
export class ProgrammeResolver {
  constructor(private readonly service: ProgrammeService) {}

  @Permit('record.read')
  @ResolveField(() => [ProgrammeSummary], { description: 'The programmes' })
  programmes(@Parent() { code }: Drive): Promise<ProgrammeSummary[]> {
    return this.service.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => Programme, { description: 'One programme' })
  programme(@Parent() { code }: Drive, @Args() { programme }: ProgrammeArgs): Promise<Programme> {
    return this.service.get(code, programme);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [ProgrammeDay], { description: 'Plan against actual, by production day' })
  programmeProgress(
    @Parent() { code }: Drive,
    @Args() { programme }: ProgrammeArgs,
  ): Promise<ProgrammeDay[]> {
    return this.service.progress(code, programme);
  }

  @Permit('catalogue.write')
  @Mutation(() => Programme, { description: 'Creates or replaces a programme' })
  putProgramme(
    @Args() { drive, programme }: ProgrammePath,
    @Args('input', { description: 'Its new content' }) input: ProgrammeInput,
  ): Promise<Programme> {
    return this.service.put(drive, programme, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a programme' })
  async removeProgramme(@Args() { drive, programme }: ProgrammePath): Promise<boolean> {
    await this.service.remove(drive, programme);
    return true;
  }
}
