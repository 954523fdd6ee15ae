import { InputType, ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';

const REVISION = { description: 'Name of the revision', maxLength: 40, optional: true };
const VALID_FROM = {
  description: 'First production day on which it is in force; absent: from the beginning',
  optional: true,
};

@InputType('ProbeSectorInput', { description: 'A sector of the ring, clockwise; both ends belong to it.' })
@ObjectType({ description: 'A sector of the ring, clockwise; both ends belong to it.' })
export class ProbeSector {
  @DecimalField({
    description:
      'Clock position at which it begins, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
  })
  fromDeg: string;

  @DecimalField({ description: 'Clock position at which it ends [°]', max: 360, decimals: 2 })
  toDeg: string;
}

@InputType('ProbeRequirementInput', {
  description:
    'What probing is asked for ahead of the face: along a length, or wherever no other names the place.',
})
@ObjectType({
  description:
    'What probing is asked for ahead of the face: along a length, or wherever no other names the place.',
})
export class ProbeRequirement {
  @CodeField({ description: 'Name of the requirement, such as the class expected or the design section' })
  name: string;

  @ChainageField({
    description:
      'Where it begins, in the direction of the drive; absent, with to: wherever no other names the place',
    optional: true,
  })
  from?: string;

  @ChainageField({ description: 'Where it ends', optional: true })
  to?: string;

  @IntField({ description: 'Number of holes that must reach over each place; 0: no probing', max: 100 })
  holeCount: number;

  @ListField(() => ProbeSector, {
    description: 'Sectors of the ring, each of which needs one of these holes',
    max: 20,
    empty: true,
  })
  sectors: ProbeSector[] = [];

  @DecimalField({ description: 'Cover that must be left ahead of the face [m]', max: 999 })
  overlapM: string;

  @DecimalField({
    description:
      'Length below which a hole does not count; one abandoned or flooded is held to it by its planned length [m]',
    min: 0.001,
    max: 999,
    optional: true,
  })
  leastLengthM?: string;
}

@InputType({ description: 'All probe requirements of a drive, from a production day on.' })
export class ProbeRequirementsInput {
  @DateField(VALID_FROM)
  validFrom?: string;

  @TextField({ ...REVISION, description: 'Name of the revision, required with validFrom' })
  revision?: string;

  @ListField(() => ProbeRequirement, {
    description: 'All requirements of the revision; an empty list removes the revision',
    max: 200,
  })
  requirements: ProbeRequirement[];
}

@ObjectType({ description: 'Probe requirements of a drive: a revision of them.' })
export class ProbeRequirementRevision {
  @TextField(REVISION)
  revision?: string;

  @DateField(VALID_FROM)
  validFrom?: string;

  @BooleanField({ description: 'Whether it is in force on the production day asked for, today without asOf' })
  isInForce: boolean;

  @ListField(() => ProbeRequirement, { description: 'Its requirements, along the drive', max: 200 })
  requirements: ProbeRequirement[];
}

@ObjectType({
  description: 'The probe requirements of a drive: those in force, otherwise the first, and all revisions.',
})
export class ProbeRequirements {
  @TextField(REVISION)
  revision?: string;

  @DateField(VALID_FROM)
  validFrom?: string;

  @ListField(() => ProbeRequirement, { description: 'Its requirements, along the drive', max: 200 })
  requirements: ProbeRequirement[];

  @ListField(() => ProbeRequirementRevision, { description: 'All revisions, by their first day' })
  revisions: ProbeRequirementRevision[];
}
