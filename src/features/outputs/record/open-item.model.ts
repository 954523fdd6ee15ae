import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { DoubtCode, DoubtedRecord } from '../../driving/doubts/doubt.models.js';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';

export enum OpenItemKind {
  metres_missing = 'metres_missing',
  minutes_missing = 'minutes_missing',
  boring_time_differs = 'boring_time_differs',
  shift_missing = 'shift_missing',
  probe_hole_without_time = 'probe_hole_without_time',
  notice_due = 'notice_due',
  notice_overdue = 'notice_overdue',
  doubt = 'doubt',
}

registerEnum(OpenItemKind, {
  name: 'OpenItemKind',
  description:
    'What is missing. metres_missing, minutes_missing, boring_time_differs and a doubt about the shift must be settled before it is submitted.',
  values: {
    boring_time_differs: 'Boring and booked boring time differ',
    doubt: 'An unlikely figure that nobody has confirmed',
    metres_missing: 'Metres between strokes without a boring',
    minutes_missing: 'Minutes of a shift without an activity',
    notice_due: 'A contract notice that is not sent yet',
    notice_overdue: 'A contract notice that was not sent in time',
    probe_hole_without_time:
      'A probe hole of which it is not known when it was drilled: it gives no cover and pays nothing',
    shift_missing: 'A shift of the calendar that was not posted',
  },
});

@ObjectType({ description: 'Something the record still misses, from report.open_item.' })
export class OpenItem {
  @EnumField({ description: 'What is missing', values: OpenItemKind, name: 'OpenItemKind' })
  kind: OpenItemKind;

  @TextField({ description: 'The item in words, with its figures' })
  detail: string;

  @DateField({ description: 'Date of the shift', optional: true })
  date?: string;

  @CodeField({ description: 'Name of the shift', optional: true })
  shift?: string;

  @IntField({ description: 'The stroke before which metres are missing', optional: true })
  strokeNumber?: number;

  @ChainageField({
    description: 'Where the missing metres begin; the collar of a probe hole; where a notice’s event lies',
    optional: true,
  })
  fromChainage?: string;

  @ChainageField({ description: 'Where they end', optional: true })
  toChainage?: string;

  @DecimalField({ description: 'Metres missing [m]', optional: true })
  missingM?: string;

  @InstantField({
    description: 'When the missing time begins; when a notice’s event happened',
    optional: true,
  })
  fromAt?: string;

  @InstantField({ description: 'When it ends', optional: true })
  toAt?: string;

  @DecimalField({ description: 'Minutes missing [min]', decimals: 2, optional: true })
  missingMinutes?: string;

  @DecimalField({ description: 'Boring time booked in the activities [h]', decimals: 4, optional: true })
  ledgerHours?: string;

  @DecimalField({ description: 'Boring time of the strokes [h]', decimals: 4, optional: true })
  boringHours?: string;

  @CodeField({ description: 'Name of the probe hole', optional: true })
  probeHole?: string;

  @CodeField({ description: 'Code of the notice', optional: true })
  notice?: string;

  @DateField({ description: 'Last day on which the notice can be sent in time', optional: true })
  dueOn?: string;

  @IntField({ description: 'Days until then, negative when overdue [d]', min: -1_000_000, optional: true })
  daysLeft?: number;

  @EnumField({ description: 'The doubt', values: DoubtCode, name: 'DoubtCode', optional: true })
  doubt?: DoubtCode;

  @EnumField({
    description: 'What is doubted',
    values: DoubtedRecord,
    name: 'DoubtedRecord',
    optional: true,
  })
  record?: DoubtedRecord;

  @TextField({
    description: 'What is doubted: stroke number, item, ground class, name of the log',
    optional: true,
  })
  name?: string;

  @IntField({ description: 'Line of the support list of the shift, from 1', optional: true })
  line?: number;

  @DecimalField({ description: 'The figure that is doubted, in the unit', optional: true })
  measured?: string;

  @DecimalField({ description: 'Limit that was exceeded or not reached, in the unit', optional: true })
  limit?: string;

  @TextField({ description: 'Unit of both', optional: true })
  unit?: string;
}
