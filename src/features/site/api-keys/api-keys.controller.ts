import { Body, Controller, Delete, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { Creates } from '../../../common/api/location.js';
import { oneOf } from '../../../common/api/one-of.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { ApiKey, ApiKeyInput, ApiKeyPath, NewApiKey } from './api-key.models.js';
import { ApiKeysService } from './api-keys.service.js';

@ApiTags('API keys')
@Controller('v1/projects/:project/api-keys')
export class ApiKeysController {
  constructor(private readonly keys: ApiKeysService) {}

  @Permit('keys.read')
  @Get()
  @Answer('The API keys of a project, by name; including revoked and expired ones', [ApiKey])
  list(@Param() _path: ProjectPath): Promise<ApiKey[]> {
    return this.keys.list();
  }

  @Permit('keys.write')
  @Post()
  @Header('cache-control', 'no-store')
  @Answer('Creates an API key; its text is shown only this once', NewApiKey, 201)
  @Creates(({ prefix }: NewApiKey) => prefix)
  create(@Param() _path: ProjectPath, @Body() input: ApiKeyInput): Promise<NewApiKey> {
    return this.keys.create(input);
  }

  @Permit('keys.read')
  @Get(':prefix')
  @Answer('One API key, without its text', ApiKey)
  get(@Param() { prefix }: ApiKeyPath): Promise<ApiKey> {
    return oneOf(this.keys.list(), (each) => each.prefix === prefix, `API key ${prefix}`);
  }

  @Permit('keys.write')
  @Delete(':prefix')
  @HttpCode(204)
  @Answer('Revokes an API key; it stays in the list')
  async revoke(@Param() { prefix }: ApiKeyPath): Promise<void> {
    await this.keys.revoke(prefix);
  }
}
