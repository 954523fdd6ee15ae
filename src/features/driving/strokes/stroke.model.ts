import { ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  DecimalField,
  InstantField,
  IntField,
  ListField,
  NumberField,
} from '../../../common/api/fields.js';

@ObjectType({
  description: 'A stroke, from report.stroke. Means over several borings are weighted by length.',
})
export class Stroke {
  @IntField({ description: 'Number of the stroke' })
  number: number;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @IntField({ description: 'Number of borings: more than one when it paused or crossed a shift change' })
  boringCount: number;

  @InstantField({ description: 'Start of its first boring', optional: true })
  startedAt?: string;

  @InstantField({ description: 'End of its last boring', optional: true })
  endedAt?: string;

  @DecimalField({ description: 'Boring time [h]', decimals: 4, optional: true })
  boringHours?: string;

  @NumberField({ description: 'Mean total thrust [kN]', optional: true })
  thrustKn?: number;

  @NumberField({ description: 'Mean cutterhead torque [kNm]', optional: true })
  torqueKnm?: number;

  @NumberField({ description: 'Mean rotational speed [1/min]', optional: true })
  rotationRpm?: number;

  @NumberField({ description: 'Mean penetration [mm/rev]', optional: true })
  penetrationMmPerRev?: number;

  @NumberField({ description: 'Mean gripper pressure [bar]', optional: true })
  gripperPressureBar?: number;

  @DecimalField({ description: 'Muck by the belt weigher [t]', optional: true })
  muckMassT?: string;

  @NumberField({ description: 'Net penetration rate [m/h]', optional: true })
  penetrationRateMPerH?: number;

  @NumberField({
    description: 'Thrust per disc, friction deducted: a mean over the head [kN]',
    optional: true,
  })
  thrustPerDiscKn?: number;

  @NumberField({ description: 'Field penetration index [kN per mm/rev]', optional: true })
  fieldPenetrationIndex?: number;

  @NumberField({ description: 'Specific energy [MJ/m³]', optional: true })
  specificEnergyMjPerM3?: number;

  @NumberField({ description: 'Torque ratio: measured to theoretical torque', optional: true })
  torqueRatio?: number;

  @BooleanField({ description: 'Whether the torque ratio lies within the machine’s bounds', optional: true })
  regularAdvance?: boolean;
}

@ObjectType({ description: 'A page of strokes, by number.' })
export class StrokePage {
  @ListField(() => Stroke, { description: 'The strokes', max: 1000 })
  items: Stroke[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
