import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  EnumField,
  InstantField,
  IntField,
  JsonField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { JobState } from '../../../generated/prisma/enums.js';

registerEnum(JobState, {
  name: 'JobState',
  description: 'Where a job stands.',
  values: {
    waiting: 'An instance of the service will begin it',
    running: 'It is under way; it is begun again if the service ends before it does',
    done: 'It is complete; its result can be taken until keptUntil',
    failed: 'It has ended without a result; problem says why',
  },
});

@ArgsType()
export class JobPath extends ProjectPath {
  @IntField({ description: 'Number of the job', min: 1 })
  number: number;
}

@ArgsType()
export class JobFilter extends PageArgs {
  @EnumField({ description: 'Only those in this state', values: JobState, name: 'JobState', optional: true })
  state?: JobState;
}

@ObjectType({ description: 'Work that takes longer than a request.' })
export class Job {
  @IntField({ description: 'Number of the job', min: 1 })
  number: number;

  @TextField({ description: 'Kind of work: handover or import' })
  kind: string;

  @JsonField({ description: 'What was asked for' })
  input: object;

  @EnumField({ description: 'Where it stands', values: JobState, name: 'JobState' })
  state: JobState;

  @IntField({ description: 'How much of it is done [%]', max: 100 })
  percent: number;

  @TextField({ description: 'What is under way; absent: not begun', optional: true })
  step?: string;

  @TextField({ description: 'Who asked for it' })
  askedBy: string;

  @InstantField({ description: 'When it was asked for' })
  askedAt: string;

  @InstantField({ description: 'When it was begun last; absent: not yet', optional: true })
  startedAt?: string;

  @InstantField({ description: 'When it ended; absent: it has not', optional: true })
  endedAt?: string;

  @TextField({ description: 'Why it failed', optional: true })
  problem?: string;

  @JsonField({
    description: 'What came of it, or has so far: the counts of an import; absent: its kind has none',
    optional: true,
  })
  outcome?: object;

  @TextField({ description: 'Address of its result; absent: it has none', optional: true })
  resultUrl?: string;

  @TextField({
    description: 'Length of the result, a whole number in decimal digits [bytes]',
    optional: true,
  })
  resultBytes?: string;

  @TextField({ description: 'SHA-256 of the result, 64 hexadecimal digits', optional: true })
  resultSha256?: string;

  @InstantField({
    description: 'When it is removed, with its result; absent: it has not ended',
    optional: true,
  })
  keptUntil?: string;
}

@ObjectType({ description: 'Jobs of a project, a page at a time.' })
export class JobPage {
  @ListField(() => Job, { description: 'The jobs, by their number' })
  items: Job[];

  @IntField({
    description: 'Pass it as after to get the next page; absent on the last one',
    cursor: true,
    optional: true,
  })
  next?: number;
}
