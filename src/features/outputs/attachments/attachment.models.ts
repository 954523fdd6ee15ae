import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ApiProperty } from '@nestjs/swagger';
import { Matches } from 'class-validator';
import {
  ChainageField,
  CodeField,
  DateField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { DrivePath } from '../../../common/api/paths.js';
import { AttachmentSubject } from '../../../generated/prisma/enums.js';

registerEnum(AttachmentSubject, {
  name: 'AttachmentSubject',
  description: 'What an attachment belongs to, apart from a shift and a place.',
  values: { ground_log: 'A ground log', probe_hole: 'A probe hole', stroke: 'A stroke' },
});

const SUBJECT_KIND = {
  values: AttachmentSubject,
  name: 'AttachmentSubject',
  description: 'What else it belongs to: a probe hole, a ground log or a stroke',
  optional: true,
};

const SUBJECT_NAME = {
  description: 'Name of the probe hole or ground log, or number of the stroke',
  optional: true,
};

/** The description of a file, which can be replaced. */
@InputType({ description: 'What an attached file shows and what it belongs to.' })
@ObjectType({ isAbstract: true })
export class AttachmentInput {
  @TextField({ description: 'Caption of a photo, or a note', maxLength: 2000, optional: true })
  caption?: string;

  @InstantField({ description: 'When the photo was taken or the note written', optional: true })
  takenAt?: string;

  @ChainageField({ description: 'Chainage of what it shows, or where that begins', optional: true })
  from?: string;

  @ChainageField({ description: 'Where that ends; as from when absent', optional: true })
  to?: string;

  @DateField({ description: 'Date of the shift it belongs to', optional: true })
  shiftDate?: string;

  @CodeField({ description: 'Name of that shift in the calendar', optional: true })
  shiftName?: string;

  @EnumField(SUBJECT_KIND)
  subjectKind?: AttachmentSubject;

  @CodeField(SUBJECT_NAME)
  subjectName?: string;
}

/** The parts of an upload as multipart/form-data, for the OpenAPI document only: the service streams them. */
export class AttachmentForm extends AttachmentInput {
  @ApiProperty({
    description:
      'The file, with its name: JPEG, PNG, WebP, HEIC, PDF, plain text or CSV in UTF-8. Its content and the extension of its name decide ' +
      'what it is; the Content-Type of the part is ignored. Up to ATTACHMENT_MAX_MB',
    type: 'string',
    format: 'binary',
  })
  file: unknown;
}

const DIGEST = /^[0-9a-f]{64}$/;

const IsDigest = (): PropertyDecorator =>
  Matches(DIGEST, { message: '$property must be a SHA-256, 64 hexadecimal digits in lower case' });

@ArgsType()
export class AttachmentPath extends DrivePath {
  @IsDigest()
  @TextField({ description: 'SHA-256 of the bytes, 64 hexadecimal digits', maxLength: 64 })
  digest: string;
}

@ObjectType({ description: 'A photo or a note attached to a drive, from report.attachment.' })
export class Attachment extends AttachmentInput {
  @IntField({
    description: 'Number in the drive; the number of a removed one is not reused',
    min: 1,
  })
  number: number;

  @TextField({ description: 'SHA-256 of the bytes, 64 hexadecimal digits; its key in the drive' })
  digest: string;

  @TextField({ description: 'Name of the file' })
  fileName: string;

  @TextField({ description: 'Media type, as detected from the content' })
  mediaType: string;

  @IntField({ description: 'Size [byte]' })
  sizeBytes: number;

  @TextField({ description: 'Who uploaded it' })
  uploadedBy: string;

  @InstantField({ description: 'When it was uploaded' })
  uploadedAt: string;

  @TextField({ description: 'Address of the bytes, at this service' })
  contentUrl: string;
}

@ObjectType({ description: 'A page of attachments, by number.' })
export class AttachmentPage {
  @ListField(() => Attachment, { description: 'The attachments', max: 1000 })
  items: Attachment[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}

@ArgsType()
export class AttachmentFilter extends PageArgs {
  @PlusKept()
  @ChainageField({
    description: 'Only those that touch the chainages from this one on, in the direction of the drive',
    optional: true,
  })
  from?: string;

  @PlusKept()
  @ChainageField({ description: 'Only those that touch the chainages up to this one', optional: true })
  to?: string;

  @DateField({ description: 'Only those of the shifts of this date', optional: true })
  shiftDate?: string;

  @CodeField({ description: 'Only those of the shifts of this name', optional: true })
  shiftName?: string;

  @EnumField({ ...SUBJECT_KIND, description: 'Only those of this kind of subject' })
  subjectKind?: AttachmentSubject;

  @CodeField({ ...SUBJECT_NAME, description: 'Only those of the subject of this name' })
  subjectName?: string;
}
