import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../common/api/fields.js';
import { WindowPage } from '../../common/api/chainage-window.js';
import { Heavy } from '../../common/auth/heavy.js';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { GroundLog, GroundLogInput, GroundLogPage, GroundLogPath } from './ground-log.models.js';
import { GroundLogsService } from './ground-logs.service.js';
import { RockMassIntervalArgs, RockMassOfInterval, RockMassShare } from './rock-mass.models.js';
import { RockMassService } from './rock-mass.service.js';
import { DriveSupportGuideArgs, SupportGuide } from './support-guide.models.js';

@ArgsType()
class GroundLogArgs {
  @CodeField({ description: 'Name of the log' })
  name: string;
}

@Resolver(() => Drive)
export class GroundLogsResolver {
  constructor(
    private readonly logs: GroundLogsService,
    private readonly rock: RockMassService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => GroundLogPage, {
    description:
      'The ground logs, or those that touch a part of the drive, along the drive; a page at a time',
  })
  groundLogs(@Parent() { code }: Drive, @Args() page: WindowPage): Promise<GroundLogPage> {
    return this.logs.page(code, page);
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
  rockMassByInterval(
    @Parent() { code }: Drive,
    @Args() { lengthM }: RockMassIntervalArgs,
  ): Promise<RockMassOfInterval[]> {
    return this.rock.byInterval(code, lengthM ?? 100);
  }

  @Permit('geology.write')
  @Mutation(() => GroundLog, { description: 'Creates or replaces a ground log' })
  putGroundLog(
    @Args() { drive, name }: GroundLogPath,
    @Args('input') input: GroundLogInput,
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
