import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { ProbeCover } from './probe-cover.model.js';
import { ProbeCoverService } from './probe-cover.service.js';
import { ProbeHole, ProbeHoleInput } from './probe-hole.model.js';
import { ProbeRequirements, ProbeRequirementsInput } from './probe-requirement.models.js';
import { ProbeRequirementsService } from './probe-requirements.service.js';
import { ProbingService } from './probing.service.js';

@ArgsType()
class ProbeHoleArgs extends DrivePath {
  @CodeField({ description: 'Name of the hole' })
  name: string;
}

@Resolver(() => Drive)
export class ProbingResolver {
  constructor(
    private readonly probing: ProbingService,
    private readonly covers: ProbeCoverService,
    private readonly requirements: ProbeRequirementsService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [ProbeHole], { description: 'The probe holes, by collar' })
  probeHoles(@Parent() { code }: Drive): Promise<ProbeHole[]> {
    return this.probing.list(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => ProbeCover, {
    description:
      'How far ahead of the face the ground is probed as required, how far the face may go, and why',
  })
  probeCover(@Parent() { code }: Drive): Promise<ProbeCover> {
    return this.covers.get(code);
  }

  @Permit('record.read')
  @ResolveField(() => ProbeRequirements, { description: 'What probing is required ahead of the face' })
  probeRequirements(@Parent() { code }: Drive): Promise<ProbeRequirements> {
    return this.requirements.get(code);
  }

  @Permit('catalogue.write')
  @Mutation(() => ProbeRequirements, {
    description: 'Puts the probe requirements of a drive, or replaces the revision valid from the same day',
  })
  putProbeRequirements(
    @Args() { drive }: DrivePath,
    @Args('input', { description: 'Its new content' }) input: ProbeRequirementsInput,
  ): Promise<ProbeRequirements> {
    return this.requirements.put(drive, input);
  }

  @Permit('probing.write')
  @Mutation(() => ProbeHole, { description: 'Creates or replaces a probe hole' })
  putProbeHole(
    @Args() { drive, name }: ProbeHoleArgs,
    @Args('input', { description: 'Its new content' }) input: ProbeHoleInput,
  ): Promise<ProbeHole> {
    return this.probing.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes a probe hole' })
  async removeProbeHole(@Args() { drive, name }: ProbeHoleArgs): Promise<boolean> {
    await this.probing.remove(drive, name);
    return true;
  }
}
