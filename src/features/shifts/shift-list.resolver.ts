import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { ShiftFilter, ShiftPage } from './shift-list.models.js';
import { ShiftListService } from './shift-list.service.js';

@Resolver(() => Drive)
export class ShiftListResolver {
  constructor(private readonly shifts: ShiftListService) {}

  @Permit('record.read')
  @ResolveField('shifts', () => ShiftPage, {
    description: 'The shifts that were posted, by start, with their state, a page at a time',
  })
  page(@Parent() { code }: Drive, @Args() filter: ShiftFilter): Promise<ShiftPage> {
    return this.shifts.page(code, filter);
  }
}
