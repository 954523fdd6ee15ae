import {
  ChainageField,
  DecimalField,
  InstantField,
  IntField,
  NumberField,
} from '../../../common/api/fields.js';
import { READINGS } from './stroke-fields.js';

/** A row of a table of strokes, which belong to no shift. */
export class StrokeRow {
  @IntField({ description: 'Number of the stroke; numbers rise along the drive' })
  number: number;

  @ChainageField({ description: 'Where it begins; or fromM', optional: true })
  from?: string;

  @DecimalField({
    description: 'Where it begins, driven from the start of the drive; instead of from [m]',
    optional: true,
  })
  fromM?: string;

  @ChainageField({ description: 'Where it ends; or toM', optional: true })
  to?: string;

  @DecimalField({
    description: 'Where it ends, driven from the start of the drive; instead of to [m]',
    optional: true,
  })
  toM?: string;

  @InstantField({ description: 'When its boring began; with endedAt', optional: true })
  startedAt?: string;

  @InstantField({ description: 'When its boring ended; with startedAt', optional: true })
  endedAt?: string;

  @NumberField({ description: 'Mean total thrust [kN]', max: READINGS.thrustKn, optional: true })
  thrustKn?: number;

  @NumberField({ description: 'Mean cutterhead torque [kNm]', max: READINGS.torqueKnm, optional: true })
  torqueKnm?: number;

  @NumberField({ description: 'Mean rotational speed [1/min]', max: READINGS.rotationRpm, optional: true })
  rotationRpm?: number;

  @NumberField({
    description: 'Mean penetration [mm/rev]',
    max: READINGS.penetrationMmPerRev,
    optional: true,
  })
  penetrationMmPerRev?: number;

  @NumberField({
    description: 'Mean gripper pressure [bar]',
    max: READINGS.gripperPressureBar,
    optional: true,
  })
  gripperPressureBar?: number;

  @DecimalField({ description: 'Muck by the belt weigher [t]', max: READINGS.muckMassT, optional: true })
  muckMassT?: string;
}
