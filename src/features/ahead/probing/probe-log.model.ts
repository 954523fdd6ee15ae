import { InputType, ObjectType } from '@nestjs/graphql';
import { BooleanField, DecimalField, TextField } from '../../../common/api/fields.js';

@InputType('ProbeLogIntervalInput', { description: 'What was met along a part of a probe hole.' })
@ObjectType({ description: 'What was met along a part of a probe hole.' })
export class ProbeLogInterval {
  @DecimalField({ description: 'Depth at which it begins, along the hole from its collar [m]', max: 999 })
  fromM: string;

  @DecimalField({ description: 'Depth at which it ends [m]', min: 0.001, max: 999 })
  toM: string;

  @DecimalField({ description: 'Rate of penetration of the drill bit [m/min]', max: 999, optional: true })
  penetrationRateMPerMin?: string;

  @TextField({ description: 'Colour of the flushing', maxLength: 60, optional: true })
  flushingColour?: string;

  @DecimalField({
    description: 'Loss of flushing, of what is pumped in [%]',
    max: 100,
    decimals: 2,
    optional: true,
  })
  flushingLossPercent?: string;

  @DecimalField({
    description: 'Water inflow met in it [l/min]',
    max: 999_999,
    decimals: 2,
    optional: true,
  })
  waterInflowLPerMin?: string;

  @DecimalField({ description: 'Pressure of that water [bar]', max: 999, decimals: 2, optional: true })
  waterPressureBar?: string;

  @BooleanField({ description: 'Whether it is a void; not when absent', optional: true })
  isVoid?: boolean;

  @TextField({ description: 'Rock', maxLength: 200, optional: true })
  rock?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}
