import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { ChainageWindow, WindowPage } from '../../../common/api/chainage-window.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Encounter, EncounterInput, EncounterPath } from './encounter.models.js';
import { EncountersService } from './encounters.service.js';
import { Investigation, InvestigationInput, InvestigationPath } from './investigation.models.js';
import { InvestigationsService } from './investigations.service.js';
import { EncounterOutcome, IndicationOutcome, IndicationScore } from './outcome.models.js';
import { OutcomesService } from './outcomes.service.js';

const InvestigationConnection = connectionOf(Investigation, 'Investigation');
const EncounterConnection = connectionOf(Encounter, 'Encounter');

@Resolver(() => Drive)
export class IndicationsResolver {
  constructor(
    private readonly investigationsService: InvestigationsService,
    private readonly encountersService: EncountersService,
    private readonly outcomes: OutcomesService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => InvestigationConnection, {
    description:
      'The investigations of the ground ahead, or those that touch a part of the drive; a page at a time',
  })
  async investigations(
    @Parent() { code }: Drive,
    @Args() page: WindowPage,
  ): Promise<InstanceType<typeof InvestigationConnection>> {
    return connected(await this.investigationsService.page(code, page), 'name');
  }

  @Permit('record.read')
  @ResolveField(() => EncounterConnection, {
    description: 'What was met in the ground, or in a part of the drive; a page at a time',
  })
  async encounters(
    @Parent() { code }: Drive,
    @Args() page: WindowPage,
  ): Promise<InstanceType<typeof EncounterConnection>> {
    return connected(await this.encountersService.page(code, page), 'name');
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [IndicationOutcome], {
    description: 'The indications, or those of a part of the drive, and how each turned out',
  })
  indications(@Parent() { code }: Drive, @Args() window: ChainageWindow): Promise<IndicationOutcome[]> {
    return this.outcomes.indications(code, window);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [EncounterOutcome], {
    description: 'What was met, or in a part of the drive, against each investigation that looked there',
  })
  encounterOutcomes(@Parent() { code }: Drive, @Args() window: ChainageWindow): Promise<EncounterOutcome[]> {
    return this.outcomes.encounters(code, window);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [IndicationScore], { description: 'How the indications of each method turned out' })
  indicationScores(@Parent() { code }: Drive): Promise<IndicationScore[]> {
    return this.outcomes.scores(code);
  }

  @Permit('probing.write')
  @Mutation(() => Investigation, {
    description: 'Creates or replaces an investigation with what it indicates',
  })
  putInvestigation(
    @Args() { drive, name }: InvestigationPath,
    @Args('input', { description: 'Its new content' }) input: InvestigationInput,
  ): Promise<Investigation> {
    return this.investigationsService.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes an investigation' })
  async removeInvestigation(@Args() { drive, name }: InvestigationPath): Promise<boolean> {
    await this.investigationsService.remove(drive, name);
    return true;
  }

  @Permit('probing.write')
  @Mutation(() => Encounter, { description: 'Creates or replaces an encounter' })
  putEncounter(
    @Args() { drive, name }: EncounterPath,
    @Args('input', { description: 'Its new content' }) input: EncounterInput,
  ): Promise<Encounter> {
    return this.encountersService.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes an encounter' })
  async removeEncounter(@Args() { drive, name }: EncounterPath): Promise<boolean> {
    await this.encountersService.remove(drive, name);
    return true;
  }
}
