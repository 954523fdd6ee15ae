import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  CodeField,
  EnumField,
  ListField,
  NumberField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';

export const RatingSystem = { q: 'q', rmr: 'rmr', strength: 'strength' } as const;
export type RatingSystem = (typeof RatingSystem)[keyof typeof RatingSystem];

registerEnum(RatingSystem, {
  name: 'RatingSystem',
  description: 'q: the Q-system. rmr: Rock Mass Rating. strength: classes of the strength of intact rock.',
  values: { q: 'Q-system', rmr: 'Rock Mass Rating', strength: 'Classes of the strength of intact rock' },
});

export const RatingMark = { read: 'read', transcribed: 'transcribed', memory: 'memory' } as const;
export type RatingMark = (typeof RatingMark)[keyof typeof RatingMark];

registerEnum(RatingMark, {
  name: 'RatingMark',
  description:
    'read: in the source itself. transcribed: in a text that names it. memory: to be verified in the source before any contractual use.',
  values: {
    read: 'Read in the source itself',
    transcribed: 'Read in a text that names the source',
    memory: 'From memory: verify it in the source before any contractual use',
  },
});

const Mark = (): PropertyDecorator =>
  EnumField({ description: 'How the numbers were found', values: RatingMark, name: 'RatingMark' });

@ArgsType()
export class RatingEditionPath {
  @CodeField({ description: 'Edition, such as q-2013' })
  edition: string;
}

@ObjectType({ description: 'A row of the support guide published with the classes of RMR.' })
export class SupportRow {
  @TextField({ description: 'Excavation' })
  excavation: string;

  @TextField({ description: 'Bolts' })
  bolts: string;

  @TextField({ description: 'Sprayed concrete' })
  sprayedConcrete: string;

  @TextField({ description: 'Ribs' })
  ribs: string;
}

@ObjectType({
  description:
    'A row of a rating table: a range that a value is chosen from, or a band of a measured figure with its rating.',
})
export class RatingRow {
  @TextField({ description: 'Letter or name by which it is chosen' })
  row: string;

  @TextField({ description: 'Part of the table that it stands in', optional: true })
  group?: string;

  @TextField({ description: 'What it means' })
  description: string;

  @NumberField({
    description: 'Lowest value; equal to the highest where the row has one value',
    min: -100,
    optional: true,
  })
  min?: number;

  @NumberField({ description: 'Highest value', min: -100, optional: true })
  max?: number;

  @NumberField({
    description: 'Band: where it begins, in the unit of the table; it runs to the next row',
    optional: true,
  })
  from?: number;

  @BooleanField({ description: 'The band begins above that figure, not at it', optional: true })
  above?: boolean;

  @NumberField({ description: 'Residual friction angle φr of a row of Ja, from [°]', optional: true })
  frictionMinDeg?: number;

  @NumberField({ description: 'The same, to [°]', optional: true })
  frictionMaxDeg?: number;

  @NumberField({ description: 'σc/σ1 of a row of SRF, from', optional: true })
  strengthRatioMin?: number;

  @NumberField({ description: 'The same, to; absent where it has no upper bound', optional: true })
  strengthRatioMax?: number;

  @ObjectField(() => SupportRow, {
    description: 'Excavation and support published with a class of RMR',
    optional: true,
  })
  support?: SupportRow;
}

@ObjectType({
  description: 'A note of a table by which the value of a row may be changed, where a log names it.',
})
export class TableAdjustment {
  @CodeField({ description: 'Name by which a log refers to it' })
  name: string;

  @TextListField({ description: 'Rows that it applies to' })
  rows: string[];

  @TextField({ description: 'The note' })
  note: string;

  @TextField({
    description:
      'percent: lowers by a percentage; value: the value that is given, above that of the row; fixed: one value; stress: the row is held to the reduced strength',
  })
  by: string;

  @NumberField({ description: 'Least percentage or value that may be given', optional: true })
  min?: number;

  @NumberField({ description: 'Greatest percentage or value that may be given', optional: true })
  max?: number;

  @NumberField({ description: 'The value, where it is fixed', optional: true })
  value?: number;

  @TextField({ description: 'Where the note was found' })
  source: string;

  @Mark()
  mark: RatingMark;
}

@ObjectType({ description: 'A rating table of an edition.' })
export class RatingTable {
  @CodeField({ description: 'Name of the table in its edition' })
  id: string;

  @TextField({ description: 'What it rates' })
  title: string;

  @TextField({ description: 'Unit of the figure that its bands are of', optional: true })
  unit?: string;

  @TextField({ description: 'A rule that the rows do not say', optional: true })
  rule?: string;

  @TextField({ description: 'Where the numbers were found' })
  source: string;

  @Mark()
  mark: RatingMark;

  @ListField(() => RatingRow, { description: 'Its rows, in the order of the table' })
  rows: RatingRow[];

  @ListField(() => TableAdjustment, { description: 'Adjustments that its notes allow' })
  adjustments: TableAdjustment[];
}

@ObjectType({
  description:
    'An edition of rating tables, in short. What an edition says does not change: a correction is a new edition.',
})
export class RatingEditionHead {
  @CodeField({ description: 'Name by which ground logs refer to it' })
  edition: string;

  @EnumField({ description: 'Rating system', values: RatingSystem, name: 'RatingSystem' })
  system: RatingSystem;

  @TextField({ description: 'Title' })
  title: string;

  @TextField({ description: 'Source' })
  source: string;

  @Mark()
  mark: RatingMark;

  @CodeField({ description: 'The edition that it corrects; records rated by that keep it', optional: true })
  supersedes?: string;
}

@ObjectType({ description: 'An edition of rating tables.' })
export class RatingEdition extends RatingEditionHead {
  @ListField(() => RatingTable, { description: 'Its tables' })
  tables: RatingTable[];
}
