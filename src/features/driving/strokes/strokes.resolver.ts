import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Stroke } from './stroke.model.js';
import { StrokesService } from './strokes.service.js';

const StrokeConnection = connectionOf(Stroke, 'Stroke');

@Resolver(() => Drive)
export class StrokesResolver {
  constructor(private readonly strokes: StrokesService) {}

  @Permit('record.read')
  @ResolveField('strokes', () => StrokeConnection, {
    description: 'The strokes, by number, a page at a time',
  })
  async page(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof StrokeConnection>> {
    return connected(await this.strokes.page(code, pageOf(page, -1)), 'number');
  }
}
