import { InputType, ObjectType } from '@nestjs/graphql';
import { IsIn } from 'class-validator';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';

@InputType({ description: 'A drive, as put.' })
@ObjectType({ isAbstract: true })
export class DriveInput {
  @TextField({ description: 'Name of the drive' })
  name: string;

  @ChainageField({ description: 'Chainage where the drive starts' })
  startChainage: string;

  @ChainageField({ description: 'Chainage where the drive ends' })
  endChainage: string;

  @IntField({ description: 'Direction: 1 with rising chainage, -1 against it', min: -1, max: 1 })
  @IsIn([1, -1], { message: 'direction must be 1 (with rising chainage) or -1 (against it)' })
  direction: number;

  @DecimalField({ description: 'Bored diameter [m]', min: 0.5, max: 30 })
  boredDiameterM: string;

  @CodeField({ description: 'Code of the machine that bores it', optional: true })
  machine?: string;

  @DecimalField({
    description: 'Density of the rock in place, where its ground class gives none [t/m³]',
    min: 0.5,
    max: 9.999,
    optional: true,
  })
  densityTPerM3?: string;

  @DecimalField({
    description: 'Growth of its volume by breaking, where its ground class gives none [%]',
    max: 300,
    decimals: 2,
    optional: true,
  })
  swellPercent?: string;

  @DecimalField({
    description: 'Look-out angle above which a probe hole gives no cover; 12 when absent [°]',
    max: 90,
    decimals: 2,
    optional: true,
  })
  probeLookOutLimitDeg?: string;

  @DecimalField({
    description:
      'By how much indications are widened beyond their own uncertainty when compared with what was met; 0 when absent [m]',
    max: 100,
    optional: true,
  })
  indicationToleranceM?: string;

  @DateField({
    description:
      'Date of the contract from which calendar time counts in the utilisation; from the first shift when absent',
    optional: true,
  })
  calendarFrom?: string;
}

@ObjectType({ description: 'A drive: one bore from its start to its end, in one direction.' })
export class Drive extends DriveInput {
  @CodeField({ description: 'Code of the project' })
  project: string;

  @CodeField({ description: 'Code of the drive' })
  code: string;

  @DecimalField({ description: 'Length from start to end [m]' })
  lengthM: string;
}

@ObjectType({ description: 'Where the drive stands now, from report.drive_progress.' })
export class DriveProgress {
  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @DecimalField({ description: 'Driven metres at the face [m]' })
  faceM: string;

  @DecimalField({ description: 'Sum of all borings [m]' })
  boredM: string;

  @DecimalField({ description: 'Metres behind the face without a boring [m]' })
  missingM: string;

  @DecimalField({ description: 'Metres from the face to the end of the drive [m]' })
  remainingM: string;

  @DecimalField({ description: 'Metres bored without times: in no shift and no day [m]' })
  untimedM: string;

  @IntField({ description: 'Number of strokes' })
  strokeCount: number;

  @InstantField({ description: 'When the last timed boring ended', optional: true })
  lastBoredAt?: string;

  @CodeField({
    description:
      'The next hold point at or ahead of the face that is not released; absent when none. It reports the record and decides nothing',
    optional: true,
  })
  nextHoldPoint?: string;

  @ChainageField({ description: 'Chainage of that hold point', optional: true })
  nextHoldPointChainage?: string;

  @DecimalField({
    description: 'From the face to that hold point; 0 when the face stands at it [m]',
    optional: true,
  })
  toNextHoldPointM?: string;

  @IntField({ description: 'Hold points behind the face that are not released' })
  passedHoldPointCount: number;
}
