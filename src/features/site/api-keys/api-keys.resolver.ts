import { Args, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
import { ApiKey, ApiKeyInput, ApiKeyPath, NewApiKey } from './api-key.models.js';
import { ApiKeysService } from './api-keys.service.js';

@Resolver(() => Project)
export class ApiKeysResolver {
  constructor(private readonly keys: ApiKeysService) {}

  @Permit('keys.read')
  @ResolveField(() => [ApiKey], { description: 'The API keys, by name; including revoked and expired ones' })
  apiKeys(): Promise<ApiKey[]> {
    return this.keys.list();
  }

  @Permit('keys.write')
  @Mutation(() => NewApiKey, { description: 'Creates an API key; its text is shown only this once' })
  createApiKey(
    @Args() _path: ProjectPath,
    @Args('input', { description: 'What the key may do' }) input: ApiKeyInput,
  ): Promise<NewApiKey> {
    return this.keys.create(input);
  }

  @Permit('keys.write')
  @Mutation(() => Boolean, { description: 'Revokes an API key; it stays in the list' })
  async removeApiKey(@Args() { prefix }: ApiKeyPath): Promise<boolean> {
    await this.keys.revoke(prefix);
    return true;
  }
}
