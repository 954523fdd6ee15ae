import { Args, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { AsOf } from '../../../common/api/as-of.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Attachment, AttachmentFilter, AttachmentInput, AttachmentPath } from './attachment.models.js';
import { AttachmentsService } from './attachments.service.js';

const AttachmentConnection = connectionOf(Attachment, 'Attachment');

@Resolver(() => Drive)
export class AttachmentsResolver {
  constructor(private readonly service: AttachmentsService) {}

  @Permit('record.read')
  @ResolveField(() => AttachmentConnection, {
    description:
      'The photos and notes, by number, a page at a time. Their bytes are uploaded and downloaded by REST',
  })
  async attachments(
    @Parent() { code }: Drive,
    @Args() filter: AttachmentFilter,
  ): Promise<InstanceType<typeof AttachmentConnection>> {
    return connected(await this.service.page(code, filter), 'number');
  }

  @Permit('record.read')
  @Query(() => Attachment, { description: 'What one attachment is, and what it belongs to' })
  attachment(@Args() { drive, digest }: AttachmentPath, @AsOf() _asOf?: string): Promise<Attachment> {
    return this.service.get(drive, digest);
  }

  @Permit('attachment.write')
  @Mutation(() => Attachment, {
    description:
      'Changes what an attachment shows and belongs to; the file does not change. Files are uploaded by REST: POST …/attachments',
  })
  putAttachment(
    @Args() { drive, digest }: AttachmentPath,
    @Args('input', { description: 'Its new content' }) input: AttachmentInput,
  ): Promise<Attachment> {
    return this.service.put(drive, digest, input);
  }

  @Permit('attachment.write')
  @Mutation(() => Boolean, {
    description: 'Removes an attachment from the record; its history and its bytes are kept',
  })
  async removeAttachment(@Args() { drive, digest }: AttachmentPath): Promise<boolean> {
    await this.service.remove(drive, digest);
    return true;
  }
}
