import { ArgsType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { Type } from 'class-transformer';
import { CodeField, EnumField, ListField, NumberField, TextField } from '../../common/api/fields.js';
import { RatingMark } from '../rating-tables/rating-table.models.js';

export const GuideFigureName = {
  equivalent_dimension: 'equivalent_dimension',
  bolt_length: 'bolt_length',
  maximum_unsupported_span: 'maximum_unsupported_span',
  q_wall: 'q_wall',
  rmr_support_guide: 'rmr_support_guide',
  gsi_from_rmr89: 'gsi_from_rmr89',
  gsi_from_jcond89: 'gsi_from_jcond89',
  rmr_from_q_bieniawski: 'rmr_from_q_bieniawski',
  rmr_from_q_barton: 'rmr_from_q_barton',
  q_from_rmr_bieniawski: 'q_from_rmr_bieniawski',
  q_from_rmr_barton: 'q_from_rmr_barton',
  rqd_from_jv_1982: 'rqd_from_jv_1982',
  rqd_from_jv_2005: 'rqd_from_jv_2005',
  rqd_from_frequency: 'rqd_from_frequency',
} as const;
export type GuideFigureName = (typeof GuideFigureName)[keyof typeof GuideFigureName];

registerEnumType(GuideFigureName, {
  name: 'GuideFigureName',
  description: 'What a figure of the support guide is, and by whose formula.',
});

export const GUIDE_CAUTION =
  'Decision support: empirical figures from one log and the inputs named beside them, for comparison. They are no design and no order; ' +
  'most were gathered in drill and blast tunnels. The project’s designer and the local code decide what support is installed.';

@ArgsType()
export class SupportGuideArgs {
  @Type(() => Number)
  @NumberField({
    description: 'Span of the excavation; the bored diameter of the drive when not given [m]',
    min: 0.5,
    max: 100,
    optional: true,
  })
  spanM?: number;

  @Type(() => Number)
  @NumberField({
    description:
      'Excavation support ratio, by the table esr of an edition of Q; 1.5 times it for temporary support',
    min: 0.5,
    max: 7.5,
  })
  esr: number;
}

@ArgsType()
export class DriveSupportGuideArgs extends SupportGuideArgs {
  @CodeField({ description: 'Name of the log' })
  name: string;
}

@ObjectType({ description: 'A figure of the support guide with all that it rests on.' })
export class GuideFigure {
  @EnumField({ description: 'What it is', values: GuideFigureName, name: 'GuideFigureName' })
  figure: GuideFigureName;

  @NumberField({ description: 'Its value; absent where it has no answer', min: -1e9, optional: true })
  value?: number;

  @TextField({ description: 'Unit of the value; - for none', optional: true })
  unit?: string;

  @TextField({ description: 'The answer in words, as published', optional: true })
  text?: string;

  @TextField({ description: 'Formula, or table' })
  formula: string;

  @TextField({ description: 'What it was computed from' })
  inputs: string;

  @CodeField({ description: 'Edition of the rating that it rests on', optional: true })
  edition?: string;

  @TextField({ description: 'Where the formula was found' })
  source: string;

  @EnumField({ description: 'How it was found', values: RatingMark, name: 'RatingMark' })
  mark: RatingMark;

  @TextField({ description: 'What it does not say, or why it has no answer', optional: true })
  remark?: string;
}

@ObjectType({ description: 'Decision support from a ground log. Nothing of it is stored.' })
export class SupportGuide {
  @CodeField({ description: 'Name of the log' })
  name: string;

  @NumberField({ description: 'Span that was taken [m]' })
  spanM: number;

  @TextField({ description: 'Whose span it is' })
  spanOf: string;

  @NumberField({ description: 'ESR that was taken' })
  esr: number;

  @ListField(() => GuideFigure, { description: 'The figures that the log allows' })
  figures: GuideFigure[];

  @TextField({ description: 'Which figures have no answer and why; absent when all have', optional: true })
  unanswered?: string;

  @TextField({ description: 'What the figures are not' })
  caution: string;
}
