import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { Permit } from '../../../common/auth/permit.js';
import { scope } from '../../../common/database/scope.js';
import { Drive } from '../../site/drives/drive.model.js';
import type { ShiftKey } from './shift-context.js';
import { ShiftDocument } from './shift-document.model.js';
import { ShiftFilter, ShiftHead } from './shift-list.models.js';
import { ShiftListService } from './shift-list.service.js';
import { ShiftsService } from './shifts.service.js';

const ShiftConnection = connectionOf(ShiftHead, 'Shift');

/** A listed shift with its key, by which its document is read. */
type ListedShift = ShiftHead & ShiftKey;

@Resolver(() => Drive)
export class ShiftListResolver {
  constructor(private readonly shifts: ShiftListService) {}

  @Permit('record.read')
  @ResolveField('shifts', () => ShiftConnection, {
    description: 'The posted shifts, by start, with their state, a page at a time',
  })
  async page(
    @Parent() { code }: Drive,
    @Args() filter: ShiftFilter,
  ): Promise<InstanceType<typeof ShiftConnection>> {
    const { project } = scope();
    const { items, ...page } = await this.shifts.page(code, filter);
    const listed = items.map((head): ListedShift => ({ ...head, project, drive: code }));
    return connected({ ...page, items: listed }, 'startsAt');
  }
}

@Resolver(() => ShiftHead)
export class ListedShiftResolver {
  constructor(private readonly shifts: ShiftsService) {}

  @Permit('record.read')
  @ResolveField(() => ShiftDocument, {
    description:
      'The current document with its strokes, activities, support and ground; it can be put again as it is',
  })
  async document(@Parent() { project, drive, date, shift }: ListedShift): Promise<ShiftDocument> {
    return (await this.shifts.get({ project, drive, date, shift })).document;
  }
}
