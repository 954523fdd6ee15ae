import { Args, ArgsType, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { CodeField } from '../../common/api/fields.js';
import { DrivePath, ProjectPath } from '../../common/api/paths.js';
import { AsOf } from '../../common/api/as-of.js';
import { Permit } from '../../common/auth/permit.js';
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

  @Permit('record.read')
  @ResolveField('drives', () => [Drive], { description: 'The drives of the project' })
  drivesOf(): Promise<Drive[]> {
    return this.drives.list();
  }

  @Permit('record.read')
  @ResolveField('machines', () => [Machine], { description: 'The machines of the project' })
  machinesOf(): Promise<Machine[]> {
    return this.machines.list();
  }

  @Permit('catalogue.write')
  @Mutation(() => Machine, { description: 'Creates or replaces a machine' })
  putMachine(@Args() { machine }: MachineArgs, @Args('input') input: MachineInput): Promise<Machine> {
    return this.machines.put(machine, input);
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
  put(@Args() { drive }: DrivePath, @Args('input') input: DriveInput): Promise<Drive> {
    return this.drives.put(drive, input);
  }

  @Permit('record.read')
  @ResolveField(() => DriveProgress, {
    description: 'Where the face stands now, and what the record misses behind it',
  })
  progress(@Parent() { code }: Drive): Promise<DriveProgress> {
    return this.drives.progress(code);
  }
}
