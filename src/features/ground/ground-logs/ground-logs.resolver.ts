import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField } from '../../../common/api/fields.js';
import { WindowPage } from '../../../common/api/chainage-window.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { GroundLog, GroundLogInput, GroundLogPath } from './ground-log.models.js';
import { GoverningLogService } from './governing-log.service.js';
import { GroundLogsService } from './ground-logs.service.js';
import {
  RockMassAt,
  RockMassIntervalArgs,
  RockMassOfInterval,
  RockMassPlaceArgs,
  RockMassShare,
} from './rock-mass.models.js';
import { RockMassService } from './rock-mass.service.js';
import { DriveSupportGuideArgs, SupportGuide } from './support-guide.models.js';

@ArgsType()
class GroundLogArgs {
  @CodeField({ description: 'Name of the log' })
  name: string;
}

@ArgsType()
class GoverningReasonArgs extends GroundLogPath {
  @ReasonField({ description: 'Why' })
  reason: string;
}

const GroundLogConnection = connectionOf(GroundLog, 'GroundLog');

@Resolver(() => Drive)
export class GroundLogsResolver {
  constructor(
    private readonly logs: GroundLogsService,
    private readonly rock: RockMassService,
    private readonly governing: GoverningLogService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => GroundLogConnection, {
    description:
      'The ground logs, or those that touch a part of the drive, along the drive; a page at a time',
  })
  async groundLogs(
    @Parent() { code }: Drive,
    @Args() page: WindowPage,
  ): Promise<InstanceType<typeof GroundLogConnection>> {
    return connected(await this.logs.page(code, page), 'name');
  }

  @Permit('record.read')
  @ResolveField(() => GroundLog, { description: 'One ground log' })
  groundLog(@Parent() { code }: Drive, @Args() { name }: GroundLogArgs): Promise<GroundLog> {
    return this.logs.get(code, name);
  }

  @Permit('record.read')
  @ResolveField(() => SupportGuide, {
    description: 'Decision support from a ground log; nothing of it is stored',
  })
  supportGuide(
    @Parent() { code }: Drive,
    @Args() { name, ...asked }: DriveSupportGuideArgs,
  ): Promise<SupportGuide> {
    return this.rock.guide(code, name, asked);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [RockMassShare], { description: 'Metres behind the face by class of Q and of RMR' })
  rockMass(@Parent() { code }: Drive): Promise<RockMassShare[]> {
    return this.rock.byDrive(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [RockMassOfInterval], { description: 'The same by intervals on round chainages' })
  async rockMassByInterval(
    @Parent() { code }: Drive,
    @Args() { lengthM }: RockMassIntervalArgs,
  ): Promise<RockMassOfInterval[]> {
    return (await this.rock.byInterval(code, lengthM ?? 100)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => RockMassAt, {
    description: 'What the ground logs say of a place, and which of them counts',
  })
  rockMassAt(@Parent() { code }: Drive, @Args() { chainage }: RockMassPlaceArgs): Promise<RockMassAt> {
    return this.rock.at(code, chainage);
  }

  @Permit('class.propose')
  @Mutation(() => GroundLog, {
    description: 'Proposes a ground log as the governing one of its place, with a reason',
  })
  proposeGroundLogAsGoverning(@Args() { drive, name, reason }: GoverningReasonArgs): Promise<GroundLog> {
    return this.governing.propose(drive, name, reason);
  }

  @Permit('class.propose')
  @Mutation(() => GroundLog, { description: 'Withdraws that proposal' })
  undoProposeGroundLogAsGoverning(@Args() { drive, name }: GroundLogPath): Promise<GroundLog> {
    return this.governing.remove(drive, name);
  }

  @Permit('class.agree')
  @Mutation(() => GroundLog, {
    description: 'Agrees that a ground log governs its place; never by the proposer',
  })
  agreeGroundLogAsGoverning(@Args() { drive, name }: GroundLogPath): Promise<GroundLog> {
    return this.governing.agree(drive, name);
  }

  @Permit('class.agree')
  @Mutation(() => GroundLog, {
    description: 'Withdraws an agreed governing log, for a reason; never by the proposer',
  })
  withdrawGroundLogAsGoverning(@Args() { drive, name, reason }: GoverningReasonArgs): Promise<GroundLog> {
    return this.governing.withdraw(drive, name, reason);
  }

  @Permit('geology.write')
  @Mutation(() => GroundLog, { description: 'Creates or replaces a ground log' })
  putGroundLog(
    @Args() { drive, name }: GroundLogPath,
    @Args('input', { description: 'Its new content' }) input: GroundLogInput,
  ): Promise<GroundLog> {
    return this.logs.put(drive, name, input);
  }

  @Permit('geology.write')
  @Mutation(() => Boolean, { description: 'Removes a ground log' })
  async removeGroundLog(@Args() { drive, name }: GroundLogPath): Promise<boolean> {
    await this.logs.remove(drive, name);
    return true;
  }
}
