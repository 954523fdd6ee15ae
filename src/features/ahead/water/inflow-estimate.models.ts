import { ArgsType, ObjectType } from '@nestjs/graphql';
import { DecimalField, NumberField, TextField } from '../../../common/api/fields.js';

export const ESTIMATE_CAUTION =
  'Decision support only. The estimate is for homogeneous rock, a water table that is not drawn down, and a drive without lining or grouted zone; water in rock follows few fractures, and conductivity is rarely known within a power of ten. What is to be expected is for the project’s designer and the responsible person to decide.';

@ArgsType()
export class InflowEstimateArgs {
  @DecimalField({
    description: 'Hydraulic conductivity of the rock, without an exponent: 0.0000001 [m/s]',
    min: 1e-15,
    max: 1,
    decimals: 15,
  })
  conductivityMPerS: string;

  @NumberField({
    description: 'Head of the groundwater above the axis, above the radius [m]',
    min: 0.001,
    max: 10_000,
  })
  headM: number;

  @NumberField({
    description: 'Radius of the drive; half the bored diameter when not given [m]',
    min: 0.001,
    max: 100,
    optional: true,
  })
  radiusM?: number;
}

@ObjectType({
  description: 'Steady inflow into a drive by Goodman et al. 1965, for a conductivity and a head.',
})
export class InflowEstimate {
  @NumberField({ description: 'Hydraulic conductivity as asked for [m/s]' })
  conductivityMPerS: number;

  @NumberField({ description: 'Head as asked for [m]' })
  headM: number;

  @NumberField({ description: 'Radius that was used [m]' })
  radiusM: number;

  @NumberField({ description: 'Inflow per metre of drive [m³/s per m]' })
  inflowM3PerSPerM: number;

  @DecimalField({ description: 'Inflow per 100 m of drive [l/min]', decimals: 2 })
  per100mLPerMin: string;

  @TextField({ description: 'What the figure does not say', maxLength: 1000 })
  caution: string;
}
