import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { ProjectPath } from '../../common/api/paths.js';
import { Project, ProjectInput } from './project.model.js';
import { ProjectsService } from './projects.service.js';

@Resolver(() => Project)
export class ProjectsResolver {
  constructor(private readonly projects: ProjectsService) {}

  @Query(() => [Project], { name: 'projects', description: 'All projects' })
  list(): Promise<Project[]> {
    return this.projects.list();
  }

  @Query(() => Project, { name: 'project', description: 'One project' })
  get(@Args() { project }: ProjectPath): Promise<Project> {
    return this.projects.get(project);
  }

  @Mutation(() => Project, { name: 'putProject', description: 'Creates or replaces a project' })
  put(@Args() { project }: ProjectPath, @Args('input') input: ProjectInput): Promise<Project> {
    return this.projects.put(project, input);
  }
}
