import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { BooleanField, TextField } from '../../../common/api/fields.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { Permit } from '../../../common/auth/permit.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  ClassAgreementInput,
  ClassDecision,
  ClassDecisionArgs,
  ClassDecisionInput,
  ClassDecisionPath,
} from './class-decision.models.js';
import { ClassDecisionsService } from './class-decisions.service.js';

@ArgsType()
class PutDecision extends ClassDecisionPath {
  @TextField({ description: 'Entity tag of the proposal to replace', optional: true })
  ifMatch?: string;

  @BooleanField({ description: 'Create only: refuse when the decision exists', optional: true })
  createOnly?: boolean;
}

@ArgsType()
class NamedDecision extends ClassDecisionPath {
  @TextField({ description: 'Entity tag of the version that you act on' })
  ifMatch: string;
}

@ArgsType()
class DisputedDecision extends NamedDecision {
  @ReasonField({ description: 'What is disputed' })
  reason: string;
}

@ArgsType()
class WithdrawnDecision extends NamedDecision {
  @ReasonField({ description: 'Why it no longer counts' })
  reason: string;
}

const ClassDecisionConnection = connectionOf(ClassDecision, 'ClassDecision');

@Resolver(() => Drive)
export class ClassDecisionsResolver {
  constructor(private readonly decisions: ClassDecisionsService) {}

  @Permit('record.read')
  @ResolveField(() => ClassDecisionConnection, {
    description: 'The class decisions, by number; a page at a time',
  })
  async classDecisions(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof ClassDecisionConnection>> {
    return connected(await this.decisions.page(code, pageOf(page, 0)), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => ClassDecision, { description: 'One class decision' })
  classDecision(@Parent() { code }: Drive, @Args() { number }: ClassDecisionArgs): Promise<ClassDecision> {
    return this.decisions.get(code, number);
  }

  @Permit('class.propose')
  @Mutation(() => ClassDecision, {
    description: 'Proposes a class decision, or replaces a proposal; safe to repeat',
  })
  async putClassDecision(
    @Args() { drive, number, ifMatch, createOnly }: PutDecision,
    @Args('input', { description: 'Its new content' }) input: ClassDecisionInput,
  ): Promise<ClassDecision> {
    const precondition = { ifMatch: ifMatch ?? undefined, createOnly: createOnly ?? false };
    return (await this.decisions.put(drive, number, input, precondition)).decision;
  }

  @Permit('class.propose')
  @Mutation(() => Boolean, { description: 'Withdraws a proposal' })
  async removeClassDecision(@Args() { drive, number, ifMatch }: NamedDecision): Promise<boolean> {
    await this.decisions.remove(drive, number, ifMatch);
    return true;
  }

  @Permit('class.agree')
  @Mutation(() => ClassDecision, { description: 'Agrees to a class decision; never by the proposer' })
  agreeClassDecision(
    @Args() { drive, number, ifMatch }: NamedDecision,
    @Args('input', { description: 'Representatives of the parties' }) input: ClassAgreementInput,
  ): Promise<ClassDecision> {
    return this.decisions.agree(drive, number, ifMatch, input);
  }

  @Permit('class.agree')
  @Mutation(() => ClassDecision, {
    description: 'Disputes a proposal, with a reason; never by the proposer',
  })
  disputeClassDecision(@Args() { drive, number, ifMatch, reason }: DisputedDecision): Promise<ClassDecision> {
    return this.decisions.dispute(drive, number, ifMatch, reason);
  }

  @Permit('class.agree')
  @Mutation(() => ClassDecision, {
    description: 'Withdraws an agreed or disputed class decision, for a reason',
  })
  withdrawClassDecision(
    @Args() { drive, number, ifMatch, reason }: WithdrawnDecision,
  ): Promise<ClassDecision> {
    return this.decisions.withdraw(drive, number, ifMatch, reason);
  }
}
