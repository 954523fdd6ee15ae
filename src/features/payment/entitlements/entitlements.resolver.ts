import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Entitlement, EntitlementArgs, EntitlementInput, EntitlementPath } from './entitlement.models.js';
import { EntitlementResult, EntitlementResultArgs } from './entitlement-result.models.js';
import { EntitlementsService } from './entitlements.service.js';

@Resolver(() => Drive)
export class EntitlementsResolver {
  constructor(private readonly service: EntitlementsService) {}

  @Permit('record.read')
  @ResolveField(() => [Entitlement], { description: 'The bases of time entitlement' })
  entitlements(@Parent() { code }: Drive): Promise<Entitlement[]> {
    return this.service.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => Entitlement, { description: 'One basis of time entitlement' })
  entitlement(@Parent() { code }: Drive, @Args() { entitlement }: EntitlementArgs): Promise<Entitlement> {
    return this.service.get(code, entitlement);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => EntitlementResult, {
    description: 'Time by a basis of entitlement: each line, the sum, and the result of the rule',
  })
  entitlementResult(
    @Parent() { code }: Drive,
    @Args() { entitlement, horizon }: EntitlementResultArgs,
  ): Promise<EntitlementResult> {
    return this.service.result(code, entitlement, horizon);
  }

  @Permit('catalogue.write')
  @Mutation(() => Entitlement, { description: 'Creates or replaces a basis of time entitlement' })
  putEntitlement(
    @Args() { drive, entitlement }: EntitlementPath,
    @Args('input', { description: 'Its new content' }) input: EntitlementInput,
  ): Promise<Entitlement> {
    return this.service.put(drive, entitlement, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a basis of time entitlement' })
  async removeEntitlement(@Args() { drive, entitlement }: EntitlementPath): Promise<boolean> {
    await this.service.remove(drive, entitlement);
    return true;
  }
}
