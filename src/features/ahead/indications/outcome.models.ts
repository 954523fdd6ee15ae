import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import type {
  EncounterSource,
  IndicationKind,
  InvestigationMethod,
} from '../../../generated/prisma/enums.js';
import { SOURCE } from './encounter.models.js';
import { Indication, KIND, METHOD } from './investigation.models.js';

export enum IndicationState {
  open = 'open',
  hit = 'hit',
  false_alarm = 'false_alarm',
}

registerEnum(IndicationState, {
  name: 'IndicationState',
  description: 'How an indication turned out.',
  values: {
    open: 'The face has not passed its end and uncertainty yet',
    hit: 'It was met',
    false_alarm: 'The face has passed it, and it was not met',
  },
});

export enum EncounterState {
  matched = 'matched',
  covered = 'covered',
  missed = 'missed',
  open = 'open',
}

registerEnum(EncounterState, {
  name: 'EncounterState',
  description: 'How an investigation foretold what was met in its range.',
  values: {
    matched: 'By an indication',
    covered: 'It lies in an indication that something else is matched with',
    missed: 'By none',
    open: 'By none, but the face has not passed it yet',
  },
});

const METHOD_NAME = { description: 'Name of the method; of method other only', optional: true };

@ObjectType({ description: 'An indication and how it turned out, from report.indication_outcome.' })
export class IndicationOutcome extends Indication {
  @CodeField({ description: 'Its investigation' })
  investigation: string;

  @EnumField({ description: 'Method', ...METHOD })
  method: InvestigationMethod;

  @TextField(METHOD_NAME)
  methodName?: string;

  @ChainageField({ description: 'Where the face stood when the investigation was made' })
  face: string;

  @InstantField({ description: 'When it was made' })
  madeAt: string;

  @TextField({ description: 'Who made it' })
  madeBy: string;

  @ChainageField({ description: 'Position of the face from which it is judged' })
  judgedFrom: string;

  @EnumField({ description: 'How it turned out', values: IndicationState, name: 'IndicationState' })
  outcome: IndicationState;

  @CodeField({ description: 'Encounter, or probe hole, that it is matched with', optional: true })
  encounter?: string;

  @BooleanField({ description: 'Whether that is water or a void met in a probe hole', optional: true })
  isFromHole?: boolean;

  @ChainageField({ description: 'Where what was met begins', optional: true })
  metFrom?: string;

  @ChainageField({ description: 'Where it ends', optional: true })
  metTo?: string;

  @InstantField({ description: 'When it was met', optional: true })
  metAt?: string;

  @DecimalField({
    description: 'Length of it within the stretch indicated, widened by uncertainty and tolerance [m]',
    optional: true,
  })
  overlapM?: string;

  @DecimalField({
    description: 'Start met less start indicated: positive further along the drive [m]',
    min: -999_999,
    optional: true,
  })
  positionErrorM?: string;

  @DecimalField({
    description: 'Advance of the face from the investigation until it was met [m]',
    min: -999_999,
    optional: true,
  })
  leadM?: string;

  @DecimalField({
    description: 'Time from the investigation until it was met [d]',
    decimals: 2,
    optional: true,
  })
  leadDays?: string;
}

@ObjectType({
  description:
    'What was met after an investigation that indicated it or looked there, from report.encounter_outcome.',
})
export class EncounterOutcome {
  @CodeField({ description: 'Name of the encounter, or of the probe hole that met water or a void' })
  encounter: string;

  @BooleanField({ description: 'Whether it is water or a void met in a probe hole' })
  isFromHole: boolean;

  @EnumField({ description: 'What was met', ...KIND })
  kind: IndicationKind;

  @EnumField({ description: 'How it was met', ...SOURCE })
  source: EncounterSource;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @InstantField({ description: 'When it was met' })
  metAt: string;

  @CodeField({ description: 'The investigation' })
  investigation: string;

  @EnumField({ description: 'Its method', ...METHOD })
  method: InvestigationMethod;

  @TextField(METHOD_NAME)
  methodName?: string;

  @EnumField({ description: 'How it was foretold', values: EncounterState, name: 'EncounterState' })
  outcome: EncounterState;

  @CodeField({ description: 'Key of the indication that it is matched with', optional: true })
  key?: string;
}

export const SCORE_CAUTION =
  'Decision support: a score counts what was recorded as met. What nobody entered counts as not met, ground outside the ranges investigated says nothing, ' +
  'and a good score is no promise for the next indication. Whether the face may go on is for the responsible person, the project’s designer and the local code.';

@ObjectType({ description: 'How the indications of a method turned out, from report.indication_score.' })
export class IndicationScore {
  @EnumField({ description: 'Method', ...METHOD })
  method: InvestigationMethod;

  @TextField(METHOD_NAME)
  methodName?: string;

  @IntField({ description: 'How many investigations' })
  investigationCount: number;

  @IntField({ description: 'How many indications' })
  indicationCount: number;

  @IntField({ description: 'Those that the face has not passed yet' })
  openCount: number;

  @IntField({ description: 'Those that were met' })
  hitCount: number;

  @IntField({ description: 'Those that were not met' })
  falseAlarmCount: number;

  @IntField({
    description: 'Things met in the range of an investigation that did not indicate them, once for each',
  })
  missedCount: number;

  @DecimalField({
    description: 'Hits of hits and false alarms; absent below ten [%]',
    decimals: 1,
    optional: true,
  })
  hitPercent?: string;

  @DecimalField({ description: 'Hits of hits and misses; absent below ten [%]', decimals: 1, optional: true })
  indicatedPercent?: string;

  @DecimalField({
    description: 'Mean of start met less start indicated, of the hits [m]',
    min: -999_999,
    optional: true,
  })
  meanPositionErrorM?: string;

  @DecimalField({ description: 'Mean amount of it [m]', optional: true })
  meanAbsolutePositionErrorM?: string;

  @DecimalField({ description: 'The largest in amount, with its sign [m]', min: -999_999, optional: true })
  largestPositionErrorM?: string;

  @DecimalField({
    description: 'Mean advance of the face from investigation until met, of the hits [m]',
    min: -999_999,
    optional: true,
  })
  meanLeadM?: string;

  @DecimalField({ description: 'Least of them [m]', min: -999_999, optional: true })
  leastLeadM?: string;

  @DecimalField({
    description: 'Mean time from investigation until met, of the hits [d]',
    decimals: 2,
    optional: true,
  })
  meanLeadDays?: string;

  @DecimalField({ description: 'Least of them [d]', decimals: 2, optional: true })
  leastLeadDays?: string;

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}
