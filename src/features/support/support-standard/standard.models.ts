import { applyDecorators } from '@nestjs/common';
import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';
import { SupportUnit } from '../../../generated/prisma/enums.js';
import '../../site/catalogue/catalogue.models.js';
import { Revision, RevisionFromField, RevisionInput } from './revision.models.js';

const EDITION = 'Drawing, clause or version it comes from';

/** A demand can only be checked against a named source. */
const EditionField = (): PropertyDecorator =>
  applyDecorators(
    TextField({ description: EDITION, maxLength: 120 }),
    Names('name a drawing, clause or version'),
  );

@ArgsType()
export class GroundClassPath extends ProjectPath {
  @CodeField({ description: 'Code of the ground class' })
  code: string;
}

@ArgsType()
export class DesignSectionPath extends DrivePath {
  @CodeField({ description: 'Name of the section' })
  name: string;
}

@ArgsType()
export class GroundClassRevision extends GroundClassPath {
  @RevisionFromField()
  validFrom?: string;
}

@ArgsType()
export class DesignSectionRevision extends DesignSectionPath {
  @RevisionFromField()
  validFrom?: string;
}

@InputType({ description: 'How much of an item is demanded in a zone.' })
@ObjectType({ isAbstract: true })
export class DemandedSupportInput {
  @CodeField({ description: 'Code of the support item' })
  item: string;

  @CodeField({ description: 'Zone in which it is to be installed' })
  zone: string;

  @DecimalField({
    description: 'Quantity per metre of drive, in the item’s unit; else spacingM is given',
    min: 0.000001,
    max: 99_999,
    decimals: 6,
    optional: true,
  })
  quantityPerM?: string;

  @DecimalField({
    description: 'A shortfall up to this part of a quantity per metre is not reported; 0 when not given [%]',
    max: 99.99,
    decimals: 2,
    optional: true,
  })
  tolerancePercent?: string;

  @DecimalField({
    description:
      'Of pieces, in place of a quantity per metre: spacing of the rows along the drive, within which the next row must stand [m]',
    min: 0.001,
    max: 100,
    optional: true,
  })
  spacingM?: string;

  @DecimalField({
    description: 'By how much a spacing may be larger; 0 when not given [m]',
    max: 100,
    optional: true,
  })
  toleranceM?: string;

  @IntField({
    description: 'Pieces in a row across the drive, or in the sector of it; without it and aroundSpacingM 1',
    min: 1,
    max: 1000,
    optional: true,
  })
  piecesPerRow?: number;

  @DecimalField({
    description:
      'In place of piecesPerRow: spacing of the pieces of a row around the arc, on the circumference as bored, within which the next piece must stand; half of it from the ends of a sector [m]',
    min: 0.001,
    max: 100,
    optional: true,
  })
  aroundSpacingM?: string;

  @DecimalField({
    description: 'By how much the spacing around may be larger; 0 when not given [m]',
    max: 100,
    optional: true,
  })
  aroundToleranceM?: string;

  @DecimalField({
    description:
      'Sector of the ring in which they stand, from, clockwise from the crown; absent: all of it, wherever they stand [deg]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  fromDeg?: string;

  @DecimalField({ description: 'To, clockwise [deg]', max: 360, decimals: 2, optional: true })
  toDeg?: string;
}

@ObjectType({ description: 'Support that is demanded by the metre of drive, or at a spacing.' })
export class DemandedSupport extends DemandedSupportInput {
  @EnumField({ description: 'Unit of the item', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;
}

@InputType({ description: 'All that a ground class demands, from a production day on.' })
export class StandardSupportInput extends RevisionInput {
  @EditionField()
  edition: string;

  @ListField(() => DemandedSupportInput, {
    description:
      'Everything the class requires, each item once per zone, and at spacings once per sector; without items it demands none',
    max: 100,
    empty: true,
  })
  items: DemandedSupportInput[] = [];
}

@ObjectType({ description: 'What support a ground class demands, by contract: a revision of its standard.' })
export class StandardSupport extends Revision {
  @CodeField({ description: 'Code of the ground class' })
  groundClass: string;

  @TextField({ description: EDITION })
  edition: string;

  @ListField(() => DemandedSupport, { description: 'Everything it requires, by zone and item', max: 100 })
  items: DemandedSupport[];
}

@InputType({ description: 'The designer’s own list for a length of the drive, from a production day on.' })
export class DesignSectionInput extends StandardSupportInput {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}

@ObjectType({
  description:
    'A length of the drive along which the designer’s own list governs, whatever the ground class: a revision of it.',
})
export class DesignSection extends Revision {
  @CodeField({ description: 'Name of the section' })
  name: string;

  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @TextField({ description: EDITION })
  edition: string;

  @ListField(() => DemandedSupport, { description: 'Everything it requires, by zone and item', max: 100 })
  items: DemandedSupport[];
}

@InputType({ description: 'How far behind the face the support of a zone must be complete.' })
@ObjectType({ isAbstract: true })
export class SupportLimitInput {
  @CodeField({ description: 'The zone' })
  zone: string;

  @DecimalField({
    description: 'Longest length behind the face within which its support may be incomplete [m]',
    max: 9999,
  })
  limitM: string;
}

@ObjectType({ description: 'How far behind the face the support of a zone must be complete.' })
export class ZoneLimit extends SupportLimitInput {}

@ObjectType({
  description: 'How far behind the face the support of a zone must be complete: a revision of the limit.',
})
export class SupportLimit extends Revision {
  @CodeField({ description: 'The zone' })
  zone: string;

  @DecimalField({
    description:
      'Longest length behind the face within which its support may be incomplete; absent: none from that day on [m]',
    max: 9999,
    optional: true,
  })
  limitM?: string;
}

@ObjectType({
  description: 'The limits of a drive: the revision in force, otherwise the first, and all revisions.',
})
export class SupportLimits {
  @TextField({ description: 'Name of the revision', maxLength: 40, optional: true })
  revision?: string;

  @DateField({
    description: 'First production day whose metres it judges; absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @ListField(() => ZoneLimit, { description: 'Its limits, by zone', max: 10 })
  limits: ZoneLimit[];

  @ListField(() => SupportLimit, { description: 'All revisions, by zone' })
  revisions: SupportLimit[];
}

@InputType({ description: 'The limits of all zones, from a production day on.' })
export class SupportLimitsInput extends RevisionInput {
  @ListField(() => SupportLimitInput, {
    description: 'All limits of the revision, each zone once; a zone that is not listed has none',
    max: 10,
  })
  limits: SupportLimitInput[];
}
