import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Bill, BillArgs, BillInput, BillReceipt, BillSummary, PutBill, RemovedBill } from './bill.models.js';
import { BillsService } from './bills.service.js';

@Resolver(() => Drive)
export class BillsResolver {
  constructor(private readonly service: BillsService) {}

  @Permit('record.read')
  @ResolveField(() => [BillSummary], { description: 'The versions of the bill, the earliest first' })
  bills(@Parent() { code }: Drive): Promise<BillSummary[]> {
    return this.service.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => Bill, { description: 'One version of the bill' })
  bill(@Parent() { code }: Drive, @Args() { version }: BillArgs): Promise<Bill> {
    return this.service.get(code, version);
  }

  @Permit('bill.write')
  @Mutation(() => BillReceipt, {
    description: 'Stores a version of the bill whole, or refuses it; safe to repeat',
  })
  putBill(
    @Args() { drive, version, ifMatch, createOnly }: PutBill,
    @Args('input', { description: 'Its new content' }) input: BillInput,
  ): Promise<BillReceipt> {
    return this.service.put(drive, version, input, {
      ifMatch: ifMatch ?? undefined,
      createOnly: createOnly ?? false,
    });
  }

  @Permit('bill.write')
  @Mutation(() => Boolean, { description: 'Removes a version of the bill that nothing certified uses' })
  async removeBill(@Args() { drive, version, ifMatch }: RemovedBill): Promise<boolean> {
    await this.service.remove(drive, version, ifMatch);
    return true;
  }
}
