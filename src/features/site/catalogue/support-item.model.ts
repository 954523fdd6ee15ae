import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { CodeField, DecimalField, EnumField, TextField } from '../../../common/api/fields.js';
import { SupportKind, SupportUnit } from '../../../generated/prisma/enums.js';
import { UNITS_IN_WORDS } from './support-item-rules.js';

registerEnum(SupportKind, {
  name: 'SupportKind',
  description: 'Kind of a support item.',
  values: {
    bolt: 'Rock bolts',
    cast_concrete: 'Cast concrete',
    cavity_fill: 'Fill of cavities',
    drain: 'Drains',
    invert_segment: 'Invert segments',
    lagging: 'Lagging',
    lattice_girder: 'Lattice girders',
    mesh: 'Wire mesh',
    rib: 'Steel ribs',
    spile: 'Spiles',
    sprayed_concrete: 'Sprayed concrete',
  },
});
registerEnum(SupportUnit, {
  name: 'SupportUnit',
  description: 'Unit in which a support item is counted.',
  values: {
    nr: 'Whole pieces',
    m: 'Metres',
    m2: 'Square metres',
    m3: 'Cubic metres',
    kg: 'Kilograms',
    t: 'Tonnes',
  },
});

const LENGTH = { min: 0.001, max: 100, optional: true };
const MASS = { min: 0.001, max: 99_999, optional: true };

@InputType({ description: 'A support item, as put.' })
@ObjectType({ isAbstract: true })
export class SupportItemInput {
  @EnumField({ description: 'Kind of support', values: SupportKind, name: 'SupportKind' })
  kind: SupportKind;

  @EnumField({
    description: `Unit in which it is counted: ${UNITS_IN_WORDS}`,
    values: SupportUnit,
    name: 'SupportUnit',
  })
  unit: SupportUnit;

  @TextField({ description: 'What the item is' })
  description: string;

  @DecimalField({
    description:
      'Length of a bolt, a spile or a drain; developed length of a rib or a lattice girder, a piece or a ring; length of an invert segment along the drive [m]',
    ...LENGTH,
  })
  lengthM?: string;

  @DecimalField({
    description: 'Diameter of a bolt, a spile or a drain [mm]',
    min: 0.01,
    max: 9999,
    decimals: 2,
    optional: true,
  })
  diameterMm?: string;

  @DecimalField({ description: 'Capacity of a bolt [kN]', ...MASS })
  capacityKn?: string;

  @DecimalField({ description: 'Distance of the bolts in a row of their pattern [m]', ...LENGTH })
  circumferentialSpacingM?: string;

  @DecimalField({
    description:
      'Distance of the rows of a bolt pattern along the drive; nominal distance of ribs and lattice girders [m]',
    ...LENGTH,
  })
  longitudinalSpacingM?: string;

  @DecimalField({
    description: 'Arc that a bolt pattern covers, for lines that give none [°]',
    min: 0.01,
    max: 360,
    decimals: 2,
    optional: true,
  })
  patternArcDeg?: string;

  @TextField({ description: 'Profile of a rib or a lattice girder', maxLength: 60, optional: true })
  profile?: string;

  @DecimalField({ description: 'Mass of a rib or a lattice girder by length [kg/m]', ...MASS })
  massKgPerM?: string;

  @DecimalField({
    description: 'Diameter of a full ring on the centre line of its profile, instead of its length [m]',
    ...LENGTH,
  })
  centreLineDiameterM?: string;

  @DecimalField({ description: 'Mass of a mesh or of lagging by area [kg/m²]', ...MASS })
  massKgPerM2?: string;

  @DecimalField({ description: 'Length of a sheet of mesh [m]', ...LENGTH })
  sheetLengthM?: string;

  @DecimalField({ description: 'Width of a sheet of mesh [m]', ...LENGTH })
  sheetWidthM?: string;

  @DecimalField({
    description: 'Area of a mesh in its laps, over the area that it covers [%]',
    max: 200,
    decimals: 2,
    optional: true,
  })
  lapPercent?: string;

  @DecimalField({ description: 'Mass of an invert segment or a piece of lagging [kg]', ...MASS })
  massKg?: string;

  @TextField({ description: 'Mix of a concrete or a fill', maxLength: 60, optional: true })
  mix?: string;

  @DecimalField({
    description: 'Theoretical thickness of a sprayed concrete, for lines that give none [mm]',
    min: 0.01,
    max: 9999,
    decimals: 2,
    optional: true,
  })
  theoreticalThicknessMm?: string;

  @DecimalField({
    description: 'Rebound that is assumed, over what is batched [%]',
    max: 99,
    decimals: 2,
    optional: true,
  })
  reboundPercent?: string;

  @DecimalField({
    description: 'Allowance for overbreak and roughness, over the theoretical volume [%]',
    max: 1000,
    decimals: 2,
    optional: true,
  })
  overbreakPercent?: string;
}

@ObjectType({ description: 'A support item of the project’s catalogue.' })
export class SupportItem extends SupportItemInput {
  @CodeField({ description: 'Code of the item' })
  code: string;
}
