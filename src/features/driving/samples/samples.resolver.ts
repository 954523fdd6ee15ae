import { Args, ArgsType, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { AsOf } from '../../../common/api/as-of.js';
import { IntField, TextField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { AcceptProposalService } from './accept-proposal.service.js';
import { StrokeProposal, StrokeProposalHead, StrokeProposalInput } from './proposal.models.js';
import { ProposalsService } from './proposals.service.js';
import { SampleSummary } from './sample.models.js';
import { SamplesService } from './samples.service.js';

@ArgsType()
class ProposalArgs extends DrivePath {
  @IntField({ description: 'Number of the proposal', min: 1 })
  number: number;
}

@ArgsType()
class AcceptProposalArgs extends ProposalArgs {
  @TextField({ description: 'Entity tag of the proposal' })
  ifMatch: string;

  @IntField({
    description: 'Number of the first stroke; the one after the last stroke behind when absent',
    max: 2_000_000_000,
    optional: true,
  })
  firstNumber?: number;
}

@Resolver(() => Drive)
export class SamplesResolver {
  constructor(
    private readonly samples: SamplesService,
    private readonly proposals: ProposalsService,
    private readonly acceptance: AcceptProposalService,
  ) {}

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => SampleSummary, { description: 'Which machine samples there are, by production day' })
  sampleSummary(@Parent() { code }: Drive, @Args() days: DateRange): Promise<SampleSummary> {
    return this.samples.summary(code, days);
  }

  @Permit('record.read')
  @Query(() => [StrokeProposalHead], {
    description: 'The proposals of strokes, the newest first, at most 1000',
  })
  strokeProposals(@Args() { drive }: DrivePath, @AsOf() _asOf?: string): Promise<StrokeProposalHead[]> {
    return this.proposals.list(drive);
  }

  @Permit('record.read')
  @Query(() => StrokeProposal, { description: 'A proposal of strokes beside what was posted' })
  strokeProposal(@Args() { drive, number }: ProposalArgs, @AsOf() _asOf?: string): Promise<StrokeProposal> {
    return this.proposals.get(drive, number);
  }

  @Permit('samples.write')
  @Heavy()
  @Mutation(() => StrokeProposal, {
    description: 'Proposes strokes from the samples of a span; nothing is booked',
  })
  createStrokeProposal(
    @Args() { drive }: DrivePath,
    @Args('input', { description: 'Which samples' }) input: StrokeProposalInput,
  ): Promise<StrokeProposal> {
    return this.proposals.propose(drive, input);
  }

  @Permit('strokes.import')
  @Mutation(() => StrokeProposal, {
    description:
      'Books the borings of a proposal as imported strokes, once; whole, or refused with what they meet',
  })
  acceptStrokeProposal(
    @Args() { drive, number, ifMatch, firstNumber }: AcceptProposalArgs,
  ): Promise<StrokeProposal> {
    return this.acceptance.accept(drive, number, ifMatch, { firstNumber: firstNumber ?? undefined });
  }
}
