import { Module } from '@nestjs/common';
import { AttachmentFiles } from './attachment-files.js';
import { AttachmentUploadService } from './attachment-upload.service.js';
import { AttachmentsController } from './attachments.controller.js';
import { AttachmentsResolver } from './attachments.resolver.js';
import { AttachmentsService } from './attachments.service.js';

@Module({
  controllers: [AttachmentsController],
  providers: [AttachmentsService, AttachmentUploadService, AttachmentFiles, AttachmentsResolver],
})
export class AttachmentsModule {}
