import { Controller, Get, Param } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { Permit } from '../../../common/auth/permit.js';
import { RatingEdition, RatingEditionHead, RatingEditionPath } from './rating-table.models.js';
import { RatingTablesService } from './rating-tables.service.js';

/** They belong to no project: any authenticated caller may read them. */
@ApiTags('Rating tables')
@Controller('v1/rating-tables')
export class RatingTablesController {
  constructor(private readonly tables: RatingTablesService) {}

  @Permit('record.read')
  @Get()
  @Answer('The editions of rating tables', [RatingEditionHead])
  list(): RatingEditionHead[] {
    return this.tables.list();
  }

  @Permit('record.read')
  @Get(':edition')
  @Answer('One edition with its tables and their rows', RatingEdition)
  get(@Param() { edition }: RatingEditionPath): RatingEdition {
    return this.tables.get(edition);
  }
}
