import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy, Light } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { CertificationService } from './certification.service.js';
import {
  DisputeInput,
  DisputePath,
  LumpPath,
  LumpProgress,
  LumpProgressInput,
  QuantityDispute,
  SettlementInput,
} from './evidence.models.js';
import { EvidenceService } from './evidence.service.js';
import { ForecastArgs, ForecastLine } from './forecast.models.js';
import {
  ClassQuantity,
  IntervalArgs,
  IntervalQuantity,
  LineArgs,
  LineSource,
  Valuation,
  ValuationArgs,
  ValuationHead,
  ValuationInput,
  ValuationPath,
  ValuationVerification,
} from './valuation.models.js';
import { ValuationsService } from './valuations.service.js';

const LineSourceConnection = connectionOf(LineSource, 'LineSource');

@Heavy()
@Resolver(() => Drive)
export class ValuationsResolver {
  constructor(
    private readonly service: ValuationsService,
    private readonly certification: CertificationService,
    private readonly evidence: EvidenceService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [ValuationHead], { description: 'The valuations with their sums' })
  valuations(@Parent() { code }: Drive): Promise<ValuationHead[]> {
    return this.service.list(code);
  }

  @Permit('record.read')
  @ResolveField(() => Valuation, { description: 'A valuation with its lines' })
  valuation(@Parent() { code }: Drive, @Args() { number }: ValuationArgs): Promise<Valuation> {
    return this.service.get(code, number);
  }

  @Permit('record.read')
  @ResolveField(() => LineSourceConnection, {
    description: 'The records behind a line of a valuation, a page at a time',
  })
  async valuationSources(
    @Parent() { code }: Drive,
    @Args() { number, reference, ...page }: LineArgs,
  ): Promise<InstanceType<typeof LineSourceConnection>> {
    return connected(await this.service.sources(code, number, reference, pageOf(page, 0)), 'ordinal');
  }

  @Permit('record.read')
  @ResolveField(() => [ClassQuantity], { description: 'What a valuation measures to date, by ground class' })
  async valuationByGroundClass(
    @Parent() { code }: Drive,
    @Args() { number }: ValuationArgs,
  ): Promise<ClassQuantity[]> {
    return (await this.service.byClass(code, number)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [IntervalQuantity], {
    description: 'What a valuation measures to date, by intervals of chainage',
  })
  async valuationByInterval(
    @Parent() { code }: Drive,
    @Args() { number, lengthM }: IntervalArgs,
  ): Promise<IntervalQuantity[]> {
    return (await this.service.byInterval(code, number, lengthM)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [ForecastLine], {
    description: 'Forecast of the items at the end of the drive, by a baseline and the standard support',
  })
  forecastAtCompletion(
    @Parent() { code }: Drive,
    @Args() { number, baseline }: ForecastArgs,
  ): Promise<ForecastLine[]> {
    return this.service.forecast(code, number, baseline);
  }

  @Permit('record.read')
  @ResolveField(() => ValuationVerification, {
    description: 'Measures a certified valuation again from the record as it stood',
  })
  valuationVerification(
    @Parent() { code }: Drive,
    @Args() { number }: ValuationArgs,
  ): Promise<ValuationVerification> {
    return this.certification.verify(code, number);
  }

  @Permit('record.read')
  @Light()
  @ResolveField(() => [LumpProgress], { description: 'How much of the lump sums is done, by day' })
  lumpProgress(@Parent() { code }: Drive): Promise<LumpProgress[]> {
    return this.evidence.lumps(code);
  }

  @Permit('record.read')
  @Light()
  @ResolveField(() => [QuantityDispute], { description: 'The quantities in dispute, and those settled' })
  quantityDisputes(@Parent() { code }: Drive): Promise<QuantityDispute[]> {
    return this.evidence.disputes(code);
  }

  @Permit('valuation.write')
  @Mutation(() => Valuation, {
    description: 'Creates the next valuation, or changes the one that is not certified',
  })
  putValuation(
    @Args() { drive, number }: ValuationPath,
    @Args('input', { description: 'Its new content' }) input: ValuationInput,
  ): Promise<Valuation> {
    return this.service.put(drive, number, input);
  }

  @Permit('valuation.write')
  @Light()
  @Mutation(() => Boolean, { description: 'Removes a valuation that is not certified' })
  async removeValuation(@Args() { drive, number }: ValuationPath): Promise<boolean> {
    await this.service.remove(drive, number);
    return true;
  }

  @Permit('valuation.agree')
  @Mutation(() => Valuation, { description: 'The first signature, on the lines as they are now' })
  agreeValuation(@Args() { drive, number }: ValuationPath): Promise<Valuation> {
    return this.certification.agree(drive, number);
  }

  @Permit('valuation.certify')
  @Mutation(() => Valuation, {
    description: 'The second signature, another person’s, on the lines that were agreed',
  })
  certifyValuation(@Args() { drive, number }: ValuationPath): Promise<Valuation> {
    return this.certification.certify(drive, number);
  }

  @Permit('valuation.write')
  @Light()
  @Mutation(() => LumpProgress, { description: 'Sets how much of a lump sum is done by the end of a day' })
  putLumpProgress(
    @Args() { drive, reference, day }: LumpPath,
    @Args('input', { description: 'Its new content' }) { percent }: LumpProgressInput,
  ): Promise<LumpProgress> {
    return this.evidence.putLump(drive, reference, day, percent);
  }

  @Permit('valuation.write')
  @Light()
  @Mutation(() => Boolean, { description: 'Removes an entry of a lump sum’s progress' })
  async removeLumpProgress(@Args() { drive, reference, day }: LumpPath): Promise<boolean> {
    await this.evidence.removeLump(drive, reference, day);
    return true;
  }

  @Permit('valuation.agree')
  @Light()
  @Mutation(() => QuantityDispute, { description: 'Disputes a record’s quantity under an item' })
  createQuantityDispute(
    @Args() { drive }: DrivePath,
    @Args('input', { description: 'What is disputed' }) input: DisputeInput,
  ): Promise<QuantityDispute> {
    return this.evidence.raise(drive, input);
  }

  @Permit('valuation.agree')
  @Light()
  @Mutation(() => QuantityDispute, {
    description:
      'Settles a dispute, or proposes it where two sides sign: settled, the quantity counts from then on',
  })
  settleQuantityDispute(
    @Args() { drive, number }: DisputePath,
    @Args('input', { description: 'How it was settled' }) { settlement }: SettlementInput,
  ): Promise<QuantityDispute> {
    return this.evidence.settle(drive, number, settlement);
  }
}
