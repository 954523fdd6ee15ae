import { Body, Controller, Delete, Get, HttpCode, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Zone, ZoneInput, ZonePath } from './zone.model.js';
import { ZonesService } from './zones.service.js';

@ApiTags('Catalogue')
@Controller('v1/projects/:project')
export class ZonesController {
  constructor(private readonly zones: ZonesService) {}

  @Permit('record.read')
  @Get('zones')
  @Answer('The working zones, from the face backwards', [Zone])
  list(@Param() _path: ProjectPath): Promise<Zone[]> {
    return this.zones.list();
  }

  @Permit('record.read')
  @Get('zones/:code')
  @Answer('One working zone', Zone)
  get(@Param() { code }: ZonePath): Promise<Zone> {
    return this.zones.get(code);
  }

  @Permit('catalogue.write')
  @Put('zones/:code')
  @Answer('Creates or replaces a working zone', Zone)
  put(@Param() { code }: ZonePath, @Body() input: ZoneInput): Promise<Zone> {
    return this.zones.put(code, input);
  }

  @Permit('catalogue.write')
  @Delete('zones/:code')
  @HttpCode(204)
  @Answer('Removes a working zone that nothing uses')
  async remove(@Param() { code }: ZonePath): Promise<void> {
    await this.zones.remove(code);
  }
}
