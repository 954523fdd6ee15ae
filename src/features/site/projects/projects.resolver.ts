import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { ProjectPath } from '../../../common/api/paths.js';
import { AsOf } from '../../../common/api/as-of.js';
import { type Caller, CallerOf } from '../../../common/auth/caller.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project, ProjectInput } from './project.model.js';
import { ProjectsService } from './projects.service.js';

@Resolver(() => Project)
export class ProjectsResolver {
  constructor(private readonly projects: ProjectsService) {}

  @Permit('record.read')
  @Query(() => [Project], { name: 'projects', description: 'The projects that the caller may read' })
  list(@CallerOf() caller: Caller, @AsOf() _asOf?: string): Promise<Project[]> {
    return this.projects.list(caller);
  }

  @Permit('record.read')
  @Query(() => Project, { name: 'project', description: 'One project' })
  get(@Args() _path: ProjectPath, @AsOf() _asOf?: string): Promise<Project> {
    return this.projects.get();
  }

  @Permit('project.write', { creates: true })
  @Mutation(() => Project, { name: 'putProject', description: 'Creates or replaces a project' })
  put(
    @Args() _path: ProjectPath,
    @Args('input', { description: 'Its new content' }) input: ProjectInput,
  ): Promise<Project> {
    return this.projects.put(input);
  }
}
