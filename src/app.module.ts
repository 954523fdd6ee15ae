import { type DynamicModule, Module } from '@nestjs/common';
import { GraphqlModule } from './common/api/graphql.module.js';
import type { Config } from './common/config/config.js';
import { AuthModule } from './common/auth/auth.module.js';
import { ConfigModule } from './common/config/config.module.js';
import { DatabaseModule } from './common/database/database.module.js';
import { MetricsModule } from './common/metrics/metrics.module.js';
import { WorkModule } from './common/work/work.module.js';
import { AcceptanceModule } from './features/acceptance/acceptance.module.js';
import { AdvanceModule } from './features/advance/advance.module.js';
import { ApiKeysModule } from './features/api-keys/api-keys.module.js';
import { BillsModule } from './features/bills/bills.module.js';
import { AttachmentsModule } from './features/attachments/attachments.module.js';
import { BaselinesModule } from './features/baselines/baselines.module.js';
import { CalendarModule } from './features/calendar/calendar.module.js';
import { CatalogueModule } from './features/catalogue/catalogue.module.js';
import { ClassesModule } from './features/classes/classes.module.js';
import { DiscontinuitiesModule } from './features/discontinuities/discontinuities.module.js';
import { DoubtsModule } from './features/doubts/doubts.module.js';
import { DrivesModule } from './features/drives/drives.module.js';
import { EntitlementsModule } from './features/entitlements/entitlements.module.js';
import { GroundLogsModule } from './features/ground-logs/ground-logs.module.js';
import { HistoryModule } from './features/history/history.module.js';
import { HealthModule } from './features/health/health.module.js';
import { LedgerModule } from './features/ledger/ledger.module.js';
import { PartiesModule } from './features/parties/parties.module.js';
import { MembersModule } from './features/members/members.module.js';
import { LiveModule } from './features/live/live.module.js';
import { MissingSupportModule } from './features/missing-support/missing-support.module.js';
import { MuckModule } from './features/muck/muck.module.js';
import { NoticesModule } from './features/notices/notices.module.js';
import { OverbreakModule } from './features/overbreak/overbreak.module.js';
import { ProbingModule } from './features/probing/probing.module.js';
import { MeasurementModule } from './features/measurement/measurement.module.js';
import { ProgrammeModule } from './features/programme/programme.module.js';
import { ProjectsModule } from './features/projects/projects.module.js';
import { RatingTablesModule } from './features/rating-tables/rating-tables.module.js';
import { RecordModule } from './features/record/record.module.js';
import { SamplesModule } from './features/samples/samples.module.js';
import { ShiftsModule } from './features/shifts/shifts.module.js';
import { StrokesModule } from './features/strokes/strokes.module.js';
import { StandardModule } from './features/support-standard/standard.module.js';
import { SupportModule } from './features/support/support.module.js';
import { ValuationsModule } from './features/valuations/valuations.module.js';
import { ZonesModule } from './features/zones/zones.module.js';

@Module({
  imports: [
    DatabaseModule,
    MetricsModule,
    WorkModule,
    AuthModule,
    GraphqlModule,
    HealthModule,
    ProjectsModule,
    MembersModule,
    PartiesModule,
    ApiKeysModule,
    CalendarModule,
    CatalogueModule,
    DrivesModule,
    DoubtsModule,
    ShiftsModule,
    StrokesModule,
    SamplesModule,
    MuckModule,
    ProbingModule,
    AttachmentsModule,
    DiscontinuitiesModule,
    NoticesModule,
    OverbreakModule,
    RatingTablesModule,
    GroundLogsModule,
    AcceptanceModule,
    AdvanceModule,
    LedgerModule,
    ProgrammeModule,
    ClassesModule,
    BaselinesModule,
    EntitlementsModule,
    BillsModule,
    MeasurementModule,
    ValuationsModule,
    ZonesModule,
    SupportModule,
    StandardModule,
    MissingSupportModule,
    RecordModule,
    LiveModule,
    HistoryModule,
  ],
})
export class AppModule {
  static with(config: Config): DynamicModule {
    return { module: AppModule, imports: [ConfigModule.with(config)] };
  }
}
