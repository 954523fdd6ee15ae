import { Body, Controller, Get, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { ProjectPath } from '../../common/api/paths.js';
import { Project, ProjectInput } from './project.model.js';
import { ProjectsService } from './projects.service.js';

@ApiTags('Projects')
@Controller('v1/projects')
export class ProjectsController {
  constructor(private readonly projects: ProjectsService) {}

  @Get()
  @Answer('All projects', [Project])
  list(): Promise<Project[]> {
    return this.projects.list();
  }

  @Get(':project')
  @Answer('One project', Project)
  get(@Param() { project }: ProjectPath): Promise<Project> {
    return this.projects.get(project);
  }

  @Put(':project')
  @Answer('Creates or replaces a project', Project)
  put(@Param() { project }: ProjectPath, @Body() input: ProjectInput): Promise<Project> {
    return this.projects.put(project, input);
  }
}
