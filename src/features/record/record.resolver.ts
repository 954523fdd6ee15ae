import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Drive } from '../drives/drive.model.js';
import { AsBuilt, ChainageRange } from './as-built.models.js';
import { OpenItem } from './open-item.model.js';
import { RecordService } from './record.service.js';

@Resolver(() => Drive)
export class RecordResolver {
  constructor(private readonly record: RecordService) {}

  @ResolveField(() => [OpenItem], { description: 'What the record still misses: metres, minutes, shifts' })
  openItems(@Parent() { project, code }: Drive): Promise<OpenItem[]> {
    return this.record.openItems(project, code);
  }

  @ResolveField(() => AsBuilt, { description: 'As-built record of a chainage interval' })
  asBuilt(@Parent() { project, code }: Drive, @Args() range: ChainageRange): Promise<AsBuilt> {
    return this.record.asBuilt(project, code, range);
  }
}
