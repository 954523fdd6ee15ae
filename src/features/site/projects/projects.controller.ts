import { Body, Controller, Get, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { type Caller, CallerOf } from '../../../common/auth/caller.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project, ProjectInput } from './project.model.js';
import { ProjectsService } from './projects.service.js';

@ApiTags('Projects')
@Controller('v1/projects')
export class ProjectsController {
  constructor(private readonly projects: ProjectsService) {}

  @Permit('record.read')
  @Get()
  @Answer('The projects that the caller may read', [Project])
  list(@CallerOf() caller: Caller): Promise<Project[]> {
    return this.projects.list(caller);
  }

  @Permit('record.read')
  @Get(':project')
  @Answer('One project', Project)
  get(@Param() _path: ProjectPath): Promise<Project> {
    return this.projects.get();
  }

  @Permit('project.write', { creates: true })
  @Put(':project')
  @Answer('Creates or replaces a project', Project)
  put(@Param() _path: ProjectPath, @Body() input: ProjectInput): Promise<Project> {
    return this.projects.put(input);
  }
}
