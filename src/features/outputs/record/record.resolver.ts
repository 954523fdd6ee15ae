import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { AsBuilt, ChainageRange } from './as-built.models.js';
import { OpenItem } from './open-item.model.js';
import { RecordService } from './record.service.js';

@Heavy()
@Resolver(() => Drive)
export class RecordResolver {
  constructor(private readonly record: RecordService) {}

  @Permit('record.read')
  @ResolveField(() => [OpenItem], { description: 'What the record still misses: metres, minutes, shifts' })
  openItems(@Parent() { code }: Drive): Promise<OpenItem[]> {
    return this.record.openItems(code);
  }

  @Permit('record.read')
  @ResolveField(() => AsBuilt, { description: 'As-built record of a chainage interval' })
  asBuilt(@Parent() { code }: Drive, @Args() range: ChainageRange): Promise<AsBuilt> {
    return this.record.asBuilt(code, range);
  }
}
