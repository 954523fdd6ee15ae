import { registerEnum } from '../../../common/api/enums.js';
import type { RemarkKind as Told } from '../../../engineering/segmentation.js';

/** Remarks that a reader of a proposal needs. */
export enum RemarkKind {
  begins_while_boring = 'begins_while_boring',
  ends_while_boring = 'ends_while_boring',
  sampling_gap = 'sampling_gap',
  clock_set_back = 'clock_set_back',
  position_set_back = 'position_set_back',
  position_jumped = 'position_jumped',
  gap_closed = 'gap_closed',
  metres_missing = 'metres_missing',
  metres_twice = 'metres_twice',
  too_short = 'too_short',
  not_readable = 'not_readable',
}

registerEnum(RemarkKind satisfies Record<Told, RemarkKind>, {
  name: 'SampleRemarkKind',
  description: 'What a reader of strokes proposed from samples must also know.',
  values: {
    begins_while_boring: 'The samples begin within a boring: it begins with the first of them',
    ends_while_boring: 'The samples end within a boring: it ends with the last of them',
    sampling_gap: 'No sample for longer than the threshold: a boring ends before it',
    clock_set_back: 'A sample is not later than the one before it: a boring ends there',
    position_set_back: 'The position steps back by more than the rate explains: a boring ends there',
    position_jumped: 'The position steps ahead by more than the rate explains: a boring ends there',
    gap_closed: 'The position drifted a little between two borings: the later begins where the earlier ended',
    metres_missing: 'The position went ahead between two borings: metres that neither holds',
    metres_twice: 'The position went back between two borings: metres that both hold',
    too_short: 'Shorter than a boring by the thresholds: it is none',
    not_readable: 'Samples without thrust or penetration rate: they are ignored',
  },
});
