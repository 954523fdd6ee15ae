import {
  Body,
  Controller,
  Delete,
  Get,
  HttpCode,
  Param,
  Post,
  Put,
  Query,
  Req,
  Res,
  StreamableFile,
} from '@nestjs/common';
import { ApiBody, ApiConsumes, ApiHeader, ApiResponse, ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Answer, Fails } from '../../../common/api/answer.js';
import { Creates } from '../../../common/api/location.js';
import { answerKeptFile } from '../../../common/api/file-answer.js';
import { headerReference } from '../../../common/api/openapi-headers.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Streamed } from '../../../common/api/streamed.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Attachment,
  AttachmentFilter,
  AttachmentForm,
  AttachmentInput,
  AttachmentPage,
  AttachmentPath,
} from './attachment.models.js';
import { AttachmentUploadService } from './attachment-upload.service.js';
import { AttachmentsService } from './attachments.service.js';
import { asDownload } from './file-name.js';
import { contentType } from './media-type.js';

const OF_BYTES = {
  ETag: headerReference('ETag'),
  'Content-Disposition': headerReference('Content-Disposition'),
};

const BYTES = Object.fromEntries(
  ['image/*', 'application/pdf', 'text/plain', 'text/csv'].map((type) => [
    type,
    { schema: { type: 'string', format: 'binary' } },
  ]),
);

@ApiTags('Attachments')
@Controller('v1/projects/:project/drives/:drive/attachments')
export class AttachmentsController {
  constructor(
    private readonly attachments: AttachmentsService,
    private readonly uploads: AttachmentUploadService,
  ) {}

  /** REST only: GraphQL has no upload. */
  @Permit('attachment.write')
  @Post()
  @Streamed()
  @ApiConsumes('multipart/form-data')
  @ApiBody({ type: AttachmentForm })
  @ApiResponse({ status: 200, type: Attachment, description: 'It already exists, with the same data' })
  @Answer(
    'Attaches a photo or a note; safe to repeat. The same content exists only once in a drive',
    Attachment,
    201,
  )
  @Creates(({ digest }: Attachment) => digest)
  async upload(
    @Param() { drive }: DrivePath,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Attachment> {
    const { attachment, isNew } = await this.uploads.take(drive, request);
    void reply.status(isNew ? 201 : 200);
    return attachment;
  }

  @Permit('record.read')
  @Get()
  @Answer('The attachments of a drive, by number, a page at a time', AttachmentPage)
  page(@Param() { drive }: DrivePath, @Query() filter: AttachmentFilter): Promise<AttachmentPage> {
    return this.attachments.page(drive, filter);
  }

  @Permit('record.read')
  @Get(':digest')
  @Answer('What one attachment is, and what it belongs to', Attachment)
  get(@Param() { drive, digest }: AttachmentPath): Promise<Attachment> {
    return this.attachments.get(drive, digest);
  }

  @Permit('attachment.write')
  @Put(':digest')
  @Answer('Changes what an attachment shows and belongs to; the file does not change', Attachment)
  put(@Param() { drive, digest }: AttachmentPath, @Body() input: AttachmentInput): Promise<Attachment> {
    return this.attachments.put(drive, digest, input);
  }

  @Permit('attachment.write')
  @Delete(':digest')
  @HttpCode(204)
  @Answer('Removes an attachment from the record; its history and its bytes are kept')
  async remove(@Param() { drive, digest }: AttachmentPath): Promise<void> {
    await this.attachments.remove(drive, digest);
  }

  @Permit('record.read')
  @Get(':digest/content')
  @ApiHeader({ name: 'If-Match', required: false, description: 'Entity tag of the bytes: otherwise 412' })
  @ApiHeader({ name: 'If-None-Match', required: false, description: 'Entity tag of the bytes: the digest' })
  @ApiResponse({ status: 200, description: 'The bytes, as a download', content: BYTES, headers: OF_BYTES })
  @ApiResponse({ status: 304, description: 'The bytes are those of the entity tag' })
  @Fails('precondition_failed')
  @Answer('The bytes of an attachment, as they were uploaded', StreamableFile)
  async content(
    @Param() { drive, digest }: AttachmentPath,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StreamableFile | undefined> {
    const { attachment, open } = await this.attachments.content(drive, digest);
    const { digest: known, mediaType, fileName, sizeBytes } = attachment;
    return answerKeptFile(request, reply, {
      digest: known,
      disposition: asDownload(fileName),
      type: contentType(mediaType),
      bytes: sizeBytes,
      open,
    });
  }
}
