import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { oneOf } from '../../../common/api/one-of.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { PartiesService } from './parties.service.js';
import { Party, PartyInput, PartyPath } from './party.models.js';

@ApiTags('Parties')
@Controller('v1/projects/:project/parties')
export class PartiesController {
  constructor(private readonly parties: PartiesService) {}

  @Permit('record.read')
  @Get()
  @Answer('The parties of a project, by code', [Party])
  list(@Param() _path: ProjectPath): Promise<Party[]> {
    return this.parties.list();
  }

  @Permit('record.read')
  @Get(':party')
  @Answer('One party', Party)
  get(@Param() { party }: PartyPath): Promise<Party> {
    return oneOf(this.parties.list(), (each) => each.code === party, `party ${party}`);
  }

  @Permit('project.write')
  @Put(':party')
  @Answer('Creates or replaces a party', Party)
  put(@Param() { party }: PartyPath, @Body() input: PartyInput): Promise<Party> {
    return this.parties.put(party, input);
  }

  @Permit('project.write')
  @Delete(':party')
  @HttpCode(204)
  @Answer('Removes a party that nobody acts for')
  async remove(@Param() { party }: PartyPath): Promise<void> {
    await this.parties.remove(party);
  }
}
