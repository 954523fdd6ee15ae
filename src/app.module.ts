import { type DynamicModule, Module } from '@nestjs/common';
import { GraphqlModule } from './common/api/graphql.module.js';
import type { Config } from './common/config/config.js';
import { AuthModule } from './common/auth/auth.module.js';
import { ConfigModule } from './common/config/config.module.js';
import { DatabaseModule } from './common/database/database.module.js';
import { HtmlModule } from './common/html/html.module.js';
import { MetricsModule } from './common/metrics/metrics.module.js';
import { WorkModule } from './common/work/work.module.js';
import { JobRunningModule } from './common/jobs/jobs.module.js';
import { AcceptanceModule } from './features/driving/acceptance/acceptance.module.js';
import { AdvanceModule } from './features/driving/advance/advance.module.js';
import { ApiKeysModule } from './features/site/api-keys/api-keys.module.js';
import { BillsModule } from './features/payment/bills/bills.module.js';
import { AttachmentsModule } from './features/outputs/attachments/attachments.module.js';
import { BaselinesModule } from './features/ground/baselines/baselines.module.js';
import { CalendarModule } from './features/site/calendar/calendar.module.js';
import { CatalogueModule } from './features/site/catalogue/catalogue.module.js';
import { ImportsModule } from './features/site/imports/imports.module.js';
import { ClassesModule } from './features/ground/classes/classes.module.js';
import { DiscontinuitiesModule } from './features/ground/discontinuities/discontinuities.module.js';
import { DoubtsModule } from './features/driving/doubts/doubts.module.js';
import { DrivesModule } from './features/site/drives/drives.module.js';
import { AlertsModule } from './features/watch/alerts/alerts.module.js';
import { EntitlementsModule } from './features/payment/entitlements/entitlements.module.js';
import { GroundLogsModule } from './features/ground/ground-logs/ground-logs.module.js';
import { HistoryModule } from './features/watch/history/history.module.js';
import { HealthModule } from './features/watch/health/health.module.js';
import { HoldPointsModule } from './features/ahead/hold-points/hold-points.module.js';
import { LedgerModule } from './features/driving/ledger/ledger.module.js';
import { PartiesModule } from './features/site/parties/parties.module.js';
import { MembersModule } from './features/site/members/members.module.js';
import { LiveModule } from './features/watch/live/live.module.js';
import { MissingSupportModule } from './features/support/missing-support/missing-support.module.js';
import { MuckModule } from './features/driving/muck/muck.module.js';
import { NoticesModule } from './features/payment/notices/notices.module.js';
import { OverbreakModule } from './features/ground/overbreak/overbreak.module.js';
import { AgsModule } from './features/outputs/ags/ags.module.js';
import { ODataModule } from './features/outputs/odata/odata.module.js';
import { DailyReportModule } from './features/outputs/daily-report/daily-report.module.js';
import { HandoverModule } from './features/outputs/handover/handover.module.js';
import { JobsModule } from './features/watch/jobs/jobs.module.js';
import { DiagramsModule } from './features/outputs/diagrams/diagrams.module.js';
import { PageModule } from './features/outputs/page/page.module.js';
import { IndicationsModule } from './features/ahead/indications/indications.module.js';
import { ProbingModule } from './features/ahead/probing/probing.module.js';
import { WaterModule } from './features/ahead/water/water.module.js';
import { GroutingModule } from './features/ahead/grouting/grouting.module.js';
import { MeasurementModule } from './features/payment/measurement/measurement.module.js';
import { ProgrammeModule } from './features/driving/programme/programme.module.js';
import { ProjectsModule } from './features/site/projects/projects.module.js';
import { RatingTablesModule } from './features/ground/rating-tables/rating-tables.module.js';
import { RecordModule } from './features/outputs/record/record.module.js';
import { StripModule } from './features/outputs/strip/strip.module.js';
import { SamplesModule } from './features/driving/samples/samples.module.js';
import { ShiftsModule } from './features/driving/shifts/shifts.module.js';
import { StrokesModule } from './features/driving/strokes/strokes.module.js';
import { StandardModule } from './features/support/support-standard/standard.module.js';
import { SupportModule } from './features/support/support/support.module.js';
import { ValuationsModule } from './features/payment/valuations/valuations.module.js';
import { WebhooksModule } from './features/watch/webhooks/webhooks.module.js';
import { ZonesModule } from './features/support/zones/zones.module.js';

@Module({
  imports: [
    DatabaseModule,
    MetricsModule,
    WorkModule,
    JobRunningModule,
    AuthModule,
    GraphqlModule,
    HtmlModule,
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
    IndicationsModule,
    WaterModule,
    GroutingModule,
    HoldPointsModule,
    AgsModule,
    ODataModule,
    DailyReportModule,
    DiagramsModule,
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
    StripModule,
    LiveModule,
    HistoryModule,
    WebhooksModule,
    JobsModule,
    ImportsModule,
    HandoverModule,
    AlertsModule,
    PageModule,
  ],
})
export class AppModule {
  static with(config: Config): DynamicModule {
    return { module: AppModule, imports: [ConfigModule.with(config)] };
  }
}
