import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  CodeField,
  EnumField,
  ListField,
  NumberField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { RatingMark, SupportRow } from '../rating-tables/rating-table.models.js';

export const GuideFigureName = {
  equivalent_dimension: 'equivalent_dimension',
  bolt_length: 'bolt_length',
  bolt_length_wall: 'bolt_length_wall',
  q_temporary: 'q_temporary',
  esr_advised: 'esr_advised',
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

registerEnum(GuideFigureName, {
  name: 'GuideFigureName',
  description: 'What a figure of the support guide is, and whose formula it uses.',
  values: {
    equivalent_dimension: 'Span or height over ESR, De [m]',
    maximum_unsupported_span: 'Largest span that stands without support, by Barton [m]',
    bolt_length: 'Length of bolts in the crown, by Barton [m]',
    bolt_length_wall: 'Length of bolts in the walls, by Barton [m]',
    q_temporary: 'Q for temporary support: 5·Q',
    q_wall: 'Q of the walls',
    esr_advised: 'ESR advised for the type of excavation',
    rmr_from_q_bieniawski: 'RMR from Q, by Bieniawski',
    rmr_from_q_barton: 'RMR from Q, by Barton',
    q_from_rmr_bieniawski: 'Q from RMR, by Bieniawski',
    q_from_rmr_barton: 'Q from RMR, by Barton',
    gsi_from_rmr89: 'GSI from RMR of 1989',
    gsi_from_jcond89: 'GSI from the joint condition of 1989 and RQD',
    rqd_from_frequency: 'RQD from the fracture frequency [%]',
    rqd_from_jv_1982: 'RQD from the volumetric joint count, relation of 1982 [%]',
    rqd_from_jv_2005: 'RQD from the volumetric joint count, relation of 2005 [%]',
    rmr_support_guide: 'Support by the guideline of RMR for a drive of 10 m span',
  },
});

export const GuideSupport = { permanent: 'permanent', temporary: 'temporary' } as const;
export type GuideSupport = (typeof GuideSupport)[keyof typeof GuideSupport];

registerEnum(GuideSupport, {
  name: 'GuideSupport',
  description: 'What the figures are for. temporary: 5·Q and 1.5·ESR count.',
  values: { permanent: 'Permanent support', temporary: 'Temporary support: 5·Q and 1.5·ESR count' },
});

export const GUIDE_CAUTION =
  'Decision support: empirical figures from one log and the inputs named beside them, for comparison. They are no design and no order; ' +
  'most were gathered in drill and blast tunnels. The project’s designer and the local code decide what support is installed.';

@ArgsType()
export class SupportGuideArgs {
  @NumberField({
    description: 'Span of the excavation; the bored diameter of the drive when not given [m]',
    min: 0.5,
    max: 100,
    optional: true,
  })
  spanM?: number;

  @NumberField({
    description: 'Height of the wall; no length of wall bolts when not given [m]',
    min: 0.5,
    max: 100,
    optional: true,
  })
  wallHeightM?: number;

  @NumberField({
    description: 'Excavation support ratio of the permanent use, by the table esr of an edition of Q',
    min: 0.5,
    max: 5,
  })
  esr: number;

  @CodeField({
    description: 'Type of excavation, a row of the table esr of q-2013.2, such as D; for the advice on ESR',
    optional: true,
  })
  esrType?: string;

  @EnumField({
    description: 'What support the figures are for; permanent when not given',
    values: GuideSupport,
    name: 'GuideSupport',
    optional: true,
  })
  support?: GuideSupport;
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

  @ObjectField(() => SupportRow, { description: 'The whole row of a support table', optional: true })
  support?: SupportRow;

  @NumberField({
    description:
      'Spread of the data behind a correlation, to either side [points of RMR]; absent where none was found',
    optional: true,
  })
  spread?: number;

  @NumberField({ description: 'The value at the lower end of that spread', min: -1e9, optional: true })
  lowest?: number;

  @NumberField({ description: 'The value at its upper end', min: -1e9, optional: true })
  highest?: number;

  @TextField({ description: 'What it does not say, or why it has no answer', optional: true })
  remark?: string;

  @TextField({
    description: 'What its tables were gathered for, where this drive is another case',
    optional: true,
  })
  caution?: string;
}

@ObjectType({ description: 'Decision support from a ground log. Nothing of it is stored.' })
export class SupportGuide {
  @CodeField({ description: 'Name of the log' })
  name: string;

  @NumberField({ description: 'Span used [m]' })
  spanM: number;

  @TextField({ description: 'Whose span it is' })
  spanOf: string;

  @NumberField({ description: 'Height of the wall; absent when not given [m]', optional: true })
  wallHeightM?: number;

  @EnumField({ description: 'What support the figures are for', values: GuideSupport, name: 'GuideSupport' })
  support: GuideSupport;

  @NumberField({ description: 'ESR as given' })
  esr: number;

  @CodeField({ description: 'Type of excavation as given', optional: true })
  esrType?: string;

  @NumberField({ description: 'ESR as it counts: 1.5 times it for temporary support' })
  esrCounted: number;

  @ListField(() => GuideFigure, { description: 'The figures that can be computed from the log' })
  figures: GuideFigure[];

  @TextField({ description: 'Which figures have no answer and why; absent when all have', optional: true })
  unanswered?: string;

  @TextField({ description: 'What the figures are not' })
  caution: string;
}
