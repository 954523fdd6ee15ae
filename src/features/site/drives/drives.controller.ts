import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { oneOf } from '../../../common/api/one-of.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive, DriveInput, DriveProgress } from './drive.model.js';
import { DrivesService } from './drives.service.js';
import { Machine, MachineInput, MachinePath, MachineRevisionPath, MachinesOn } from './machine.model.js';
import { MachinesService } from './machines.service.js';

@ApiTags('Drives')
@Controller('v1/projects/:project')
export class DrivesController {
  constructor(
    private readonly drives: DrivesService,
    private readonly machines: MachinesService,
  ) {}

  @Permit('record.read')
  @Get('machines')
  @Answer('The machines of the project', [Machine])
  listMachines(@Param() _path: ProjectPath, @Query() { on }: MachinesOn): Promise<Machine[]> {
    return this.machines.list(on);
  }

  @Permit('record.read')
  @Get('machines/:machine')
  @Answer('One machine', Machine)
  getMachine(@Param() { machine }: MachinePath, @Query() { on }: MachinesOn): Promise<Machine> {
    return this.machines.get(machine, on);
  }

  @Permit('record.read')
  @Get('machines/:machine/revisions')
  @Answer('The data of a machine by the date from which they are in force', [Machine])
  machineRevisions(@Param() { machine }: MachinePath): Promise<Machine[]> {
    return this.machines.revisions(machine);
  }

  @Permit('record.read')
  @Get('machines/:machine/revisions/:validFrom')
  @Answer('The data of a machine that are in force from a date', Machine)
  machineRevision(@Param() { machine, validFrom }: MachineRevisionPath): Promise<Machine> {
    return oneOf(
      this.machines.revisions(machine),
      (each) => each.validFrom === validFrom,
      `revision of machine ${machine} from ${validFrom}`,
    );
  }

  @Permit('catalogue.write')
  @Delete('machines/:machine/revisions/:validFrom')
  @HttpCode(204)
  @Answer('Removes data of a machine by which no accepted stroke is judged')
  async removeMachineRevision(@Param() { machine, validFrom }: MachineRevisionPath): Promise<void> {
    await this.machines.removeRevision(machine, validFrom);
  }

  @Permit('catalogue.write')
  @Put('machines/:machine')
  @Answer('Creates or replaces a machine, or its data from a date on', Machine)
  putMachine(@Param() { machine }: MachinePath, @Body() input: MachineInput): Promise<Machine> {
    return this.machines.put(machine, input);
  }

  @Permit('catalogue.write')
  @Delete('machines/:machine')
  @HttpCode(204)
  @Answer('Removes a machine that no drive names, with its revisions')
  async removeMachine(@Param() { machine }: MachinePath): Promise<void> {
    await this.machines.remove(machine);
  }

  @Permit('record.read')
  @Get('drives')
  @Answer('The drives of the project', [Drive])
  list(@Param() _path: ProjectPath): Promise<Drive[]> {
    return this.drives.list();
  }

  @Permit('record.read')
  @Get('drives/:drive')
  @Answer('One drive', Drive)
  get(@Param() { drive }: DrivePath): Promise<Drive> {
    return this.drives.get(drive);
  }

  @Permit('catalogue.write')
  @Put('drives/:drive')
  @Answer('Creates or replaces a drive', Drive)
  put(@Param() { drive }: DrivePath, @Body() input: DriveInput): Promise<Drive> {
    return this.drives.put(drive, input);
  }

  @Permit('catalogue.write')
  @Delete('drives/:drive')
  @HttpCode(204)
  @Answer('Removes a drive without records')
  async remove(@Param() { drive }: DrivePath): Promise<void> {
    await this.drives.remove(drive);
  }

  @Permit('record.read')
  @Get('drives/:drive/progress')
  @Answer('Where the face stands now, and what the record misses behind it', DriveProgress)
  progress(@Param() { drive }: DrivePath): Promise<DriveProgress> {
    return this.drives.progress(drive);
  }
}
