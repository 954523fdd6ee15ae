import { registerEnumType } from '@nestjs/graphql';
import type { RemarkKind as Told } from '../../engineering/segmentation.js';

/** What a reader of a proposal must know besides. */
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

registerEnumType(RemarkKind satisfies Record<Told, RemarkKind>, {
  name: 'SampleRemarkKind',
  description: 'What a reader of strokes proposed from samples must know besides.',
});
