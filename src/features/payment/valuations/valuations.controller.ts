import {
  Body,
  Controller,
  Delete,
  Get,
  Headers,
  HttpCode,
  Param,
  Post,
  Put,
  Query,
  Res,
} from '@nestjs/common';
import { ApiHeader, ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer, Fails } from '../../../common/api/answer.js';
import { CodeField } from '../../../common/api/fields.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy, Light } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { CertificationService, etagOf } from './certification.service.js';
import { ForecastQuery, ForecastLine } from './forecast.models.js';
import {
  ClassQuantity,
  IntervalQuery,
  IntervalQuantity,
  LineSourcePage,
  Valuation,
  ValuationHead,
  ValuationInput,
  ValuationPath,
  ValuationVerification,
} from './valuation.models.js';
import { ValuationsService } from './valuations.service.js';

class LinePath extends ValuationPath {
  @CodeField({ description: 'Reference of the item' })
  reference: string;
}

const NAMED = { name: 'If-Match', required: false, description: 'Entity tag of the lines that are signed' };

@ApiTags('Valuations')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/valuations')
export class ValuationsController {
  constructor(
    private readonly valuations: ValuationsService,
    private readonly certification: CertificationService,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer('The valuations of a drive with their sums', [ValuationHead])
  list(@Param() { drive }: DrivePath): Promise<ValuationHead[]> {
    return this.valuations.list(drive);
  }

  @Permit('record.read')
  @Get(':number')
  @Answer('A valuation with its lines, and the entity tag to sign with', Valuation)
  async get(
    @Param() { drive, number }: ValuationPath,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Valuation> {
    return tagged(reply, await this.valuations.get(drive, number));
  }

  @Permit('valuation.write')
  @Put(':number')
  @Answer(
    'Creates the next valuation, or changes the one that is not certified; agreed, it is a draft again',
    Valuation,
  )
  async put(
    @Param() { drive, number }: ValuationPath,
    @Body() input: ValuationInput,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Valuation> {
    if (await this.valuations.write(drive, number, input)) void reply.status(201);
    return tagged(reply, await this.valuations.get(drive, number));
  }

  @Permit('valuation.write')
  @Light()
  @Delete(':number')
  @HttpCode(204)
  @Answer('Removes a valuation that is not certified')
  async remove(@Param() { drive, number }: ValuationPath): Promise<void> {
    await this.valuations.remove(drive, number);
  }

  @Permit('valuation.agree')
  @Post(':number/agree')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer('The first signature, on the lines as they are now', Valuation)
  async agree(
    @Param() { drive, number }: ValuationPath,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Valuation> {
    return tagged(reply, await this.certification.agree(drive, number, ifMatch));
  }

  @Permit('valuation.certify')
  @Post(':number/certify')
  @HttpCode(200)
  @ApiHeader(NAMED)
  @Answer(
    'The second signature, another person’s, on the lines that were agreed: from then on they are fixed',
    Valuation,
  )
  async certify(
    @Param() { drive, number }: ValuationPath,
    @Headers('if-match') ifMatch: string | undefined,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Valuation> {
    return tagged(reply, await this.certification.certify(drive, number, ifMatch));
  }

  @Permit('record.read')
  @Get(':number/verification')
  @Fails('conflict')
  @Answer('Measures a certified valuation again from the record as it stood', ValuationVerification)
  verify(@Param() { drive, number }: ValuationPath): Promise<ValuationVerification> {
    return this.certification.verify(drive, number);
  }

  @Permit('record.read')
  @Get(':number/lines/:reference/sources')
  @Answer('The records behind a line, a page at a time', LineSourcePage)
  sources(@Param() { drive, number, reference }: LinePath, @Query() page: PageArgs): Promise<LineSourcePage> {
    return this.valuations.sources(drive, number, reference, pageOf(page, 0));
  }

  @Permit('record.read')
  @Get(':number/ground-classes')
  @Answer('What a valuation measures to date, by ground class', [ClassQuantity])
  byClass(@Param() { drive, number }: ValuationPath): Promise<JsonRows<ClassQuantity>> {
    return this.valuations.byClass(drive, number);
  }

  @Permit('record.read')
  @Get(':number/intervals')
  @Answer('What a valuation measures to date, by intervals of chainage', [IntervalQuantity])
  byInterval(
    @Param() { drive, number }: ValuationPath,
    @Query() { lengthM }: IntervalQuery,
  ): Promise<JsonRows<IntervalQuantity>> {
    return this.valuations.byInterval(drive, number, lengthM);
  }

  @Permit('record.read')
  @Get(':number/forecast')
  @Answer('Forecast of the items at the end of the drive, by a baseline and the standard support', [
    ForecastLine,
  ])
  forecast(
    @Param() { drive, number }: ValuationPath,
    @Query() { baseline }: ForecastQuery,
  ): Promise<ForecastLine[]> {
    return this.valuations.forecast(drive, number, baseline);
  }
}

const tagged = (reply: FastifyReply, valuation: Valuation): Valuation => {
  void reply.header('etag', etagOf(valuation));
  return valuation;
};
