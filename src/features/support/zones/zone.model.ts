import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { CodeField, DecimalField, TextField } from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';

@ArgsType()
export class ZonePath extends ProjectPath {
  @CodeField({ description: 'Code of the zone' })
  code: string;
}

@InputType({ description: 'A zone of the machine in which support is installed.' })
@ObjectType({ isAbstract: true })
export class ZoneInput {
  @Names('state what the zone is')
  @TextField({ description: 'What the zone is' })
  name: string;

  @DecimalField({ description: 'Where it begins behind the face [m]', max: 99_999, optional: true })
  fromBehindM?: string;

  @DecimalField({
    description:
      'Where it ends behind the face: up to there its support may be incomplete, unless a drive has its own limit [m]',
    min: 0.001,
    max: 99_999,
    optional: true,
  })
  toBehindM?: string;
}

@ObjectType({ description: 'A working zone of the project, in which support is installed.' })
export class Zone extends ZoneInput {
  @CodeField({ description: 'Code of the zone, such as L1' })
  code: string;
}
