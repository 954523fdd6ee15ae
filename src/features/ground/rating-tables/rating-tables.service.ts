import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { RATING_EDITIONS, ratingEdition } from '../../../engineering/rating-tables/editions.js';
import type { RatingEdition as Edition } from '../../../engineering/rating-tables/tables.js';
import type { RatingEdition, RatingEditionHead } from './rating-table.models.js';

const headOf = ({ id, system, title, source, mark, supersedes }: Edition): RatingEditionHead => ({
  edition: id,
  system,
  title,
  source,
  mark,
  supersedes,
});

/** The rating tables defined in the code. */
@Injectable()
export class RatingTablesService {
  list(): RatingEditionHead[] {
    return RATING_EDITIONS.map(headOf);
  }

  /** @throws ProblemError not_found naming the edition */
  get(id: string): RatingEdition {
    const edition = ratingEdition(id);
    if (!edition) throw notFound(`edition ${id} of rating tables`);
    return {
      ...headOf(edition),
      tables: Object.values(edition.tables).map((table) => ({
        ...table,
        rows: table.rows.map((row) => ({ ...row })),
        adjustments: (table.adjustments ?? []).map(({ form, rows, ...adjustment }) => ({
          ...adjustment,
          ...form,
          rows: [...rows],
        })),
      })),
    };
  }
}
