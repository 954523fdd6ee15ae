import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { CodeField, DateField, DecimalField, IntField, TextField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';

@ArgsType()
export class MachinePath extends ProjectPath {
  @CodeField({ description: 'Code of the machine' })
  machine: string;
}

@ArgsType()
export class MachineRevisionPath extends MachinePath {
  @DateField({ description: 'Date from which the revision is in force' })
  validFrom: string;
}

@ArgsType()
export class MachinesOn {
  @DateField({
    description: 'With the data in force on this date; the latest when not given',
    optional: true,
  })
  on?: string;
}

@InputType({ description: 'The data of a machine.' })
@ObjectType({ isAbstract: true })
export class MachineInput {
  @TextField({ description: 'Name of the machine' })
  name: string;

  @DateField({
    description: 'Date from which these data are in force; absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @Names('name the revision')
  @TextField({ description: 'Name of this revision of the data', maxLength: 100, optional: true })
  revision?: string;

  @IntField({ description: 'Number of disc cutters', min: 1, max: 500 })
  discCount: number;

  @DecimalField({ description: 'Radius of a disc cutter [mm]', min: 100, max: 400 })
  discRadiusMm: string;

  @DecimalField({ description: 'Rated load of a disc cutter [kN]', min: 0.001, max: 99_999, optional: true })
  ratedDiscLoadKn?: string;

  @DecimalField({ description: 'Length of a full stroke [m]', min: 0.001, max: 10, optional: true })
  strokeLengthM?: string;

  @DecimalField({ description: 'Installed cutterhead power [kW]', min: 0.001, max: 99_999, optional: true })
  installedPowerKw?: string;

  @DecimalField({ description: 'Rated thrust [kN]', min: 0.001, max: 999_999, optional: true })
  ratedThrustKn?: string;

  @DecimalField({ description: 'Rated torque [kNm]', min: 0.001, max: 999_999, optional: true })
  ratedTorqueKnm?: string;

  @DecimalField({
    description: 'Thrust lost to friction, deducted for the thrust per disc; 0 when not given [kN]',
    max: 999_999,
    optional: true,
  })
  frictionKn?: string;

  @DecimalField({ description: 'Torque of the idle cutterhead, M0 [kNm]', max: 999_999, optional: true })
  idleTorqueKnm?: string;

  @DecimalField({
    description: 'Torque ratio above which advance is regular',
    max: 99,
    decimals: 4,
    optional: true,
  })
  torqueRatioLower?: string;

  @DecimalField({
    description: 'Torque ratio below which advance is regular',
    max: 99,
    decimals: 4,
    optional: true,
  })
  torqueRatioUpper?: string;

  @DecimalField({ description: 'Capacity of its belt [t/h]', min: 0.001, max: 99_999, optional: true })
  beltCapacityTPerH?: string;
}

@ObjectType({ description: 'A tunnel boring machine, with one revision of its data.' })
export class Machine extends MachineInput {
  @CodeField({ description: 'Code of the machine' })
  code: string;
}
