import { Args, ArgsType, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { AsOf } from '../../../common/api/as-of.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
import { Drive, DriveInput, DriveProgress } from './drive.model.js';
import { DrivesService } from './drives.service.js';
import { Machine, MachineInput, MachinePath, MachineRevisionPath, MachinesOn } from './machine.model.js';
import { MachinesService } from './machines.service.js';

@ArgsType()
class MachineOf {
  @CodeField({ description: 'Code of the machine' })
  machine: string;
}

@Resolver(() => Project)
export class ProjectDrivesResolver {
  constructor(
    private readonly drives: DrivesService,
    private readonly machines: MachinesService,
  ) {}

  @Permit('record.read')
  @ResolveField('drives', () => [Drive], { description: 'The drives of the project' })
  drivesOf(): Promise<Drive[]> {
    return this.drives.list();
  }

  @Permit('record.read')
  @ResolveField('machines', () => [Machine], { description: 'The machines of the project' })
  machinesOf(@Args() { on }: MachinesOn): Promise<Machine[]> {
    return this.machines.list(on);
  }

  @Permit('record.read')
  @ResolveField(() => [Machine], {
    description: 'The data of a machine by the date from which they are in force',
  })
  machineRevisions(@Args() { machine }: MachineOf): Promise<Machine[]> {
    return this.machines.revisions(machine);
  }

  @Permit('catalogue.write')
  @Mutation(() => Machine, { description: 'Creates or replaces a machine, or its data from a date on' })
  putMachine(
    @Args() { machine }: MachinePath,
    @Args('input', { description: 'Its new content' }) input: MachineInput,
  ): Promise<Machine> {
    return this.machines.put(machine, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a machine that no drive names, with its revisions' })
  async removeMachine(@Args() { machine }: MachinePath): Promise<boolean> {
    await this.machines.remove(machine);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes data of a machine by which no accepted stroke is judged' })
  async removeMachineRevision(@Args() { machine, validFrom }: MachineRevisionPath): Promise<boolean> {
    await this.machines.removeRevision(machine, validFrom);
    return true;
  }
}

@Resolver(() => Drive)
export class DrivesResolver {
  constructor(private readonly drives: DrivesService) {}

  @Permit('record.read')
  @Query(() => Drive, { name: 'drive', description: 'One drive' })
  get(@Args() { drive }: DrivePath, @AsOf() _asOf?: string): Promise<Drive> {
    return this.drives.get(drive);
  }

  @Permit('catalogue.write')
  @Mutation(() => Drive, { name: 'putDrive', description: 'Creates or replaces a drive' })
  put(
    @Args() { drive }: DrivePath,
    @Args('input', { description: 'Its new content' }) input: DriveInput,
  ): Promise<Drive> {
    return this.drives.put(drive, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a drive without records' })
  async removeDrive(@Args() { drive }: DrivePath): Promise<boolean> {
    await this.drives.remove(drive);
    return true;
  }

  @Permit('record.read')
  @ResolveField(() => DriveProgress, {
    description: 'Where the face stands now, and what the record misses behind it',
  })
  progress(@Parent() { code }: Drive): Promise<DriveProgress> {
    return this.drives.progress(code);
  }
}
