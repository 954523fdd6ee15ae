import { Args, ArgsType, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../common/api/fields.js';
import { DrivePath, ProjectPath } from '../../common/api/paths.js';
import { Project } from '../projects/project.model.js';
import { Drive, DriveInput, DriveProgress } from './drive.model.js';
import { DrivesService } from './drives.service.js';
import { Machine, MachineInput } from './machine.model.js';
import { MachinesService } from './machines.service.js';

@ArgsType()
class MachineArgs extends ProjectPath {
  @CodeField({ description: 'Code of the machine' })
  machine: string;
}

@Resolver(() => Project)
export class ProjectDrivesResolver {
  constructor(
    private readonly drives: DrivesService,
    private readonly machines: MachinesService,
  ) {}

  @ResolveField('drives', () => [Drive], { description: 'The drives of the project' })
  drivesOf(@Parent() { code }: Project): Promise<Drive[]> {
    return this.drives.list(code);
  }

  @ResolveField('machines', () => [Machine], { description: 'The machines of the project' })
  machinesOf(@Parent() { code }: Project): Promise<Machine[]> {
    return this.machines.list(code);
  }

  @Mutation(() => Machine, { description: 'Creates or replaces a machine' })
  putMachine(
    @Args() { project, machine }: MachineArgs,
    @Args('input') input: MachineInput,
  ): Promise<Machine> {
    return this.machines.put(project, machine, input);
  }
}

@Resolver(() => Drive)
export class DrivesResolver {
  constructor(private readonly drives: DrivesService) {}

  @Query(() => Drive, { name: 'drive', description: 'One drive' })
  get(@Args() { project, drive }: DrivePath): Promise<Drive> {
    return this.drives.get(project, drive);
  }

  @Mutation(() => Drive, { name: 'putDrive', description: 'Creates or replaces a drive' })
  put(@Args() { project, drive }: DrivePath, @Args('input') input: DriveInput): Promise<Drive> {
    return this.drives.put(project, drive, input);
  }

  @ResolveField(() => DriveProgress, {
    description: 'Where the face stands now, and what the record misses behind it',
  })
  progress(@Parent() { project, code }: Drive): Promise<DriveProgress> {
    return this.drives.progress(project, code);
  }
}
