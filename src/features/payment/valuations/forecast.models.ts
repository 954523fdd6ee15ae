import { ArgsType, ObjectType } from '@nestjs/graphql';
import { CodeField, DecimalField, TextField } from '../../../common/api/fields.js';
import { PayItemLine } from '../bills/pay-item-line.model.js';
import { ValuationArgs } from './valuation.models.js';

const BASELINE = 'Name of the baseline that the forecast of the rest uses';

@ArgsType()
export class ForecastQuery {
  @CodeField({ description: BASELINE })
  baseline: string;
}

@ArgsType()
export class ForecastArgs extends ValuationArgs {
  @CodeField({ description: BASELINE })
  baseline: string;
}

@ObjectType({
  description:
    'Forecast of an item at the end of the drive, from report.forecast_at_completion: measured to date, and the metres that remain by the baseline’s classes and the standard support.',
})
export class ForecastLine extends PayItemLine {
  @TextField({ description: 'Currency (ISO 4217)' })
  currency: string;

  @DecimalField({ description: 'Measured to date [unit]', decimals: 6 })
  toDateQuantity: string;

  @DecimalField({ description: 'Expected of the metres that remain [unit]', decimals: 6 })
  remainingQuantity: string;

  @DecimalField({ description: 'At completion [unit]', decimals: 6 })
  forecastQuantity: string;

  @TextField({
    description:
      'What the forecast of the rest uses: advance, standard support, rest of the lump sum; absent: nothing, as for probing, grouting and time',
    optional: true,
  })
  basis?: string;

  @DecimalField({ description: 'Amount of the bill [currency]', decimals: 4 })
  billAmount: string;

  @DecimalField({ description: 'To date [currency]', decimals: 4 })
  toDateAmount: string;

  @DecimalField({ description: 'At completion [currency]', decimals: 4 })
  forecastAmount: string;

  @DecimalField({ description: 'Metres that remain, for all items [m]' })
  remainingM: string;
}
