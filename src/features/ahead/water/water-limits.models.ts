import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { BooleanField, DateField, DecimalField, TextField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';

const FLOW = { max: 9_999_999, optional: true } as const;

@ArgsType()
export class WaterLimitPath extends DrivePath {
  @DateField({ description: 'Date from which the figures are in force' })
  validFrom: string;
}

@InputType({
  description: 'Figures by which inflow is judged from a date on; what is left out is not judged.',
})
@ObjectType({ isAbstract: true })
export class WaterLimitsInput {
  @DecimalField({ description: 'Trigger of inflow per 100 m of drive [l/min]', ...FLOW })
  per100mLPerMin?: string;

  @DecimalField({ description: 'Trigger of inflow from one hole [l/min]', ...FLOW })
  perHoleLPerMin?: string;

  @DecimalField({ description: 'Trigger of inflow of the drive in all [l/min]', ...FLOW })
  totalLPerMin?: string;

  @DecimalField({ description: 'Installed pumping capacity [l/min]', ...FLOW })
  pumpingLPerMin?: string;

  @TextField({ description: 'Remark, such as the clause or drawing that gives them', optional: true })
  remark?: string;
}

@ObjectType({
  description: 'Figures by which inflow is judged, whole, from a date until that of the next.',
})
export class WaterLimits extends WaterLimitsInput {
  @DateField({ description: 'Date from which they are in force' })
  validFrom: string;

  @BooleanField({ description: 'Whether they are in force on the day asked for' })
  isInForce: boolean;
}
