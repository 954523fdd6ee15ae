import { ObjectType } from '@nestjs/graphql';
import { ChainageField, DecimalField, IntField, TextField } from '../../../common/api/fields.js';

export const PROBE_CAUTION =
  'Decision support: cover counts the axial reach of straight holes and says nothing of what they found or of their quality. ' +
  'Holes without a position on the ring or a time of drilling, that look out beyond the limit or are still to be drilled, give no cover. ' +
  'The project’s designer, its hold points and the local code decide whether the face may go on.';

@ObjectType({ description: 'How far ahead of the face the ground is probed, from report.probe_cover.' })
export class ProbeCover {
  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @ChainageField({ description: 'End of the unbroken probed length that holds the face; the face when none' })
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
    description: 'Number that give none because their time of drilling lies after the moment asked for',
  })
  notYetDrilledCount: number;

  @DecimalField({ description: 'Look-out angle above which a hole gives no cover [°]' })
  lookOutLimitDeg: string;

  @TextField({ description: 'What the figure does not say' })
  caution: string;
}
