import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { PageArgs, pageOf } from '../../common/api/paging.js';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { StrokePage } from './stroke.model.js';
import { StrokesService } from './strokes.service.js';

@Resolver(() => Drive)
export class StrokesResolver {
  constructor(private readonly strokes: StrokesService) {}

  @Permit('record.read')
  @ResolveField('strokes', () => StrokePage, { description: 'The strokes, by number, a page at a time' })
  page(@Parent() { code }: Drive, @Args() page: PageArgs): Promise<StrokePage> {
    return this.strokes.page(code, pageOf(page, -1));
  }
}
