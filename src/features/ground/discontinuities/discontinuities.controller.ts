import { Body, Controller, Delete, Get, Header, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiProduces, ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ChainageWindow, WindowPage } from '../../../common/api/chainage-window.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { DiscontinuitiesService } from './discontinuities.service.js';
import {
  Discontinuity,
  DiscontinuityInput,
  DiscontinuityPage,
  DiscontinuityPath,
  DiscontinuitySheetInput,
  DiscontinuitySheetReceipt,
} from './discontinuity.models.js';
import { DiscontinuitySets, StereonetQuery } from './discontinuity-set.models.js';
import { OrientationsService } from './orientations.service.js';

const SVG = 'image/svg+xml';

@ApiTags('Discontinuities')
@Controller('v1/projects/:project/drives/:drive')
export class DiscontinuitiesController {
  constructor(
    private readonly discontinuities: DiscontinuitiesService,
    private readonly orientations: OrientationsService,
  ) {}

  @Permit('record.read')
  @Get('discontinuities')
  @Answer(
    'The discontinuities of a drive, or of a part of it, along the drive; a page at a time',
    DiscontinuityPage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: WindowPage): Promise<DiscontinuityPage> {
    return this.discontinuities.page(drive, page);
  }

  @Permit('geology.write')
  @Post('discontinuities')
  @HttpCode(200)
  @Answer(
    'Creates or replaces the discontinuities of a sheet by their names, all or none. Safe to repeat',
    DiscontinuitySheetReceipt,
  )
  putSheet(
    @Param() { drive }: DrivePath,
    @Body() sheet: DiscontinuitySheetInput,
  ): Promise<DiscontinuitySheetReceipt> {
    return this.discontinuities.putSheet(drive, sheet);
  }

  @Permit('record.read')
  @Heavy()
  @Get('discontinuities/sets')
  @Answer(
    'Mean orientation, concentration and spacing of each set, in all of a drive or a part of it',
    DiscontinuitySets,
  )
  sets(@Param() { drive }: DrivePath, @Query() window: ChainageWindow): Promise<DiscontinuitySets> {
    return this.orientations.sets(drive, window);
  }

  @Permit('record.read')
  @Get('discontinuities/:name')
  @Answer('One discontinuity', Discontinuity)
  get(@Param() { drive, name }: DiscontinuityPath): Promise<Discontinuity> {
    return this.discontinuities.get(drive, name);
  }

  @Permit('geology.write')
  @Put('discontinuities/:name')
  @Answer('Creates or replaces a discontinuity', Discontinuity)
  put(
    @Param() { drive, name }: DiscontinuityPath,
    @Body() input: DiscontinuityInput,
  ): Promise<Discontinuity> {
    return this.discontinuities.put(drive, name, input);
  }

  @Permit('geology.write')
  @Delete('discontinuities/:name')
  @HttpCode(204)
  @Answer('Removes a discontinuity')
  async remove(@Param() { drive, name }: DiscontinuityPath): Promise<void> {
    await this.discontinuities.remove(drive, name);
  }

  @Permit('record.read')
  @Heavy()
  @Get('stereonet.svg')
  @Header('content-type', `${SVG}; charset=utf-8`)
  @ApiProduces(SVG)
  @Answer(
    'Net of the poles of the discontinuities, equal area, lower hemisphere, with the mean of each set',
    String,
  )
  stereonet(@Param() { drive }: DrivePath, @Query() query: StereonetQuery): Promise<string> {
    return this.orientations.stereonet(drive, query);
  }
}
