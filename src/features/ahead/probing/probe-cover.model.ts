import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  ChoicesField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { ProbeHoleState } from '../../../generated/prisma/enums.js';
import { ProbeSector } from './probe-requirement.models.js';

/** Why a hole does not count at the end of the cover. */
export enum ProbeHoleReason {
  without_position = 'without_position',
  beyond_look_out_limit = 'beyond_look_out_limit',
  without_time = 'without_time',
  not_yet_drilled = 'not_yet_drilled',
  below_minimum_length = 'below_minimum_length',
  ends_before = 'ends_before',
  begins_beyond = 'begins_beyond',
}

registerEnum(ProbeHoleReason, {
  name: 'ProbeHoleReason',
  description: 'Why a probe hole does not count where the cover ends.',
  values: {
    without_position: 'Its position on the ring is not noted',
    beyond_look_out_limit: 'Its look-out angle is above the limit of the drive',
    without_time: 'The time of drilling is not noted',
    not_yet_drilled: 'Its time of drilling lies after the moment asked for',
    below_minimum_length: 'It is shorter than the requirement there asks for',
    ends_before: 'It does not reach beyond that place',
    begins_beyond: 'Its collar lies beyond that place',
  },
});

@ObjectType({ description: 'A probe hole that reaches ahead of the face, where the cover ends.' })
export class ProbeCoverHole {
  @CodeField({ description: 'Name of the hole' })
  name: string;

  @ChainageField({ description: 'Chainage of its collar' })
  collar: string;

  @ChainageField({ description: 'Chainage to which it reaches' })
  reach: string;

  @EnumField({ description: 'State of the hole', values: ProbeHoleState, name: 'ProbeHoleState' })
  state: ProbeHoleState;

  @BooleanField({ description: 'Whether it counts at the place where the cover ends' })
  counts: boolean;

  @ChoicesField({
    description: 'Each reason why it does not count there; none when it counts',
    values: Object.values(ProbeHoleReason),
    name: 'ProbeHoleReason',
    graphql: ProbeHoleReason,
  })
  reasons: ProbeHoleReason[];

  @ListField(() => ProbeSector, { description: 'Sectors required there in which all of the hole lies' })
  sectors: ProbeSector[];
}

@ObjectType({
  description: 'The first place ahead of the face that is not covered as required, and what is missing.',
})
export class ProbeCoverEnd {
  @ChainageField({ description: 'The place' })
  at: string;

  @CodeField({ description: 'Name of the requirement there; absent: none names the place', optional: true })
  requirement?: string;

  @IntField({ description: 'Number of holes required there', optional: true })
  requiredHoles?: number;

  @IntField({ description: 'Number of holes that count there' })
  countedHoles: number;

  @ListField(() => ProbeSector, { description: 'Required sectors without a hole that counts there' })
  emptySectors: ProbeSector[];

  @DecimalField({
    description: 'Length below which a hole does not count there; absent: none [m]',
    optional: true,
  })
  leastLengthM?: string;
}

export const PROBE_CAUTION =
  'Decision support: cover counts the axial reach of straight holes and says nothing of what they found or of their quality. ' +
  'Holes without a position on the ring or a time of drilling, that look out beyond the limit or are still to be drilled, give no cover. ' +
  'The project’s designer, its hold points and the local code decide whether the face may go on.';

@ObjectType({ description: 'How far ahead of the face the ground is probed, from report.probe_cover.' })
export class ProbeCover {
  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @ChainageField({
    description:
      'End of the unbroken length that holds the face and is probed as required, or by any hole where no requirement is in force; the face when none',
  })
  probedToChainage: string;

  @DecimalField({ description: 'Probed length left ahead of the face; 0 when none [m]' })
  coverM: string;

  @IntField({ description: 'Number of probe holes of the drive' })
  holeCount: number;

  @IntField({ description: 'Number of those that give cover' })
  countedHoleCount: number;

  @IntField({ description: 'Number that give none because their position on the ring is not noted' })
  withoutPositionCount: number;

  @IntField({
    description:
      'Number that give none because their look-out angle is above the limit; a hole may fail in several ways and is counted for each',
  })
  beyondLookOutLimitCount: number;

  @IntField({ description: 'Number that give none because the time of drilling is not noted' })
  withoutTimeCount: number;

  @IntField({
    description: 'Number that give none because they were drilled after the moment asked for',
  })
  notYetDrilledCount: number;

  @DecimalField({ description: 'Look-out angle above which a hole gives no cover [°]' })
  lookOutLimitDeg: string;

  @BooleanField({ description: 'Whether a probe requirement is in force for the drive' })
  hasRequirement: boolean;

  @TextField({ description: 'Revision of the requirements in force', maxLength: 40, optional: true })
  requirementRevision?: string;

  @DateField({
    description: 'First production day of that revision; absent: from the beginning',
    optional: true,
  })
  requirementValidFrom?: string;

  @ChainageField({
    description:
      'Chainage to which the face may go with the required overlap left ahead of it all the way; absent: not known, as no requirement is in force',
    optional: true,
  })
  permittedToChainage?: string;

  @DecimalField({ description: 'From the face to there [m]', optional: true })
  permittedM?: string;

  @DecimalField({
    description: 'Length of a full stroke of the machine; absent: not given [m]',
    optional: true,
  })
  strokeLengthM?: string;

  @IntField({ description: 'Whole strokes in that advance; absent: not known', optional: true })
  permittedStrokes?: number;

  @DecimalField({ description: 'Length of those strokes [m]', optional: true })
  permittedStrokesM?: string;

  @DecimalField({ description: 'Overlap that must be left where the face has to stop [m]', optional: true })
  overlapM?: string;

  @CodeField({ description: 'Name of the requirement that asks for that overlap', optional: true })
  overlapRequirement?: string;

  @ObjectField(() => ProbeCoverEnd, {
    description:
      'Where the required cover ends and what is missing there; absent: no requirement, or covered to the end of the drive',
    optional: true,
  })
  end?: ProbeCoverEnd;

  @CodeField({
    description:
      'The next hold point at or ahead of the face that is not released; absent: none. It does not shorten permittedM',
    optional: true,
  })
  nextHoldPoint?: string;

  @ChainageField({ description: 'Chainage of that hold point', optional: true })
  nextHoldPointChainage?: string;

  @DecimalField({
    description: 'From the face to it; 0 when the face stands at it [m]',
    optional: true,
  })
  toNextHoldPointM?: string;

  @IntField({ description: 'Number of hold points behind the face that are not released' })
  passedHoldPointCount: number;

  @ListField(() => ProbeCoverHole, {
    description:
      'The holes that reach ahead of the face, by collar, and why they do not count where the cover ends; the first thousand',
  })
  holes: ProbeCoverHole[];

  @TextListField({ description: 'Why the face may go so far and no further, in words', max: 30 })
  reasons: string[];

  @TextField({ description: 'What the figure does not say' })
  caution: string;
}
