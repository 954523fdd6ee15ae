import { ArgsType, ObjectType } from '@nestjs/graphql';
import { ChainageField, DecimalField, InstantField, IntField } from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { DateRange } from '../../../common/api/ranges.js';
import { IsAfter } from '../../../common/api/rules.js';

@ArgsType()
export class FaceArgs {
  @PlusKept()
  @InstantField({ description: 'The moment' })
  at: string;
}

@ObjectType({ description: 'Where the face stood at a moment, from report.face_at.' })
export class FacePosition {
  @InstantField({ description: 'The moment' })
  at: string;

  @DecimalField({
    description:
      'Driven metres at the face, by the timed borings: it does not move between two of them, and is at the start before the first [m]',
  })
  faceM: string;

  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @DecimalField({ description: 'Metres behind it that were bored without times [m]' })
  untimedM: string;

  @DecimalField({
    description:
      'Metres without times between it and the next timed boring: they may have been bored by then [m]',
  })
  untimedAheadM: string;
}

@ArgsType()
export class WindowArgs {
  @PlusKept()
  @InstantField({ description: 'Start of the window' })
  from: string;

  @IsAfter('from')
  @PlusKept()
  @InstantField({ description: 'End of the window, which no longer belongs to it' })
  to: string;
}

@ObjectType({
  description:
    'Advance from one moment to another, from report.advance_between. The face advanced by advanceM + untimedM + missingM.',
})
export class WindowAdvance {
  @InstantField({ description: 'Start of the window' })
  from: string;

  @InstantField({ description: 'End of the window' })
  to: string;

  @DecimalField({ description: 'Metres bored in it, by boring time [m]' })
  advanceM: string;

  @IntField({ description: 'Strokes bored at' })
  strokeCount: number;

  @DecimalField({ description: 'Boring time of the strokes [h]', decimals: 4 })
  boringHours: string;

  @ChainageField({ description: 'Where the face stood at its start' })
  fromChainage: string;

  @ChainageField({ description: 'Where the face stood at its end' })
  toChainage: string;

  @DecimalField({ description: 'Metres without times that the face passed: in no window of time [m]' })
  untimedM: string;

  @DecimalField({ description: 'Metres that the face passed without a boring in the record [m]' })
  missingM: string;
}

@ArgsType()
export class RollingArgs extends DateRange {
  @IntField({ description: 'Length of the windows, in elapsed hours [h]', min: 1, max: 8784 })
  hours: number;
}

@ObjectType({ description: 'Advance in a window of fixed length, from report.rolling_advance.' })
export class RollingAdvance {
  @InstantField({ description: 'Start of the window' })
  from: string;

  @InstantField({ description: 'End of the window' })
  to: string;

  @DecimalField({ description: 'Metres bored in it, by boring time [m]' })
  advanceM: string;

  @ChainageField({ description: 'Where its first boring began' })
  fromChainage: string;

  @ChainageField({ description: 'Where its last boring ended' })
  toChainage: string;
}
