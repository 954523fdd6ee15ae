import { Module } from '@nestjs/common';
import { LiveModule } from '../live/live.module.js';
import { AlertClock } from './alert-clock.service.js';
import { AlertsController } from './alerts.controller.js';
import { AlertNewsResolver, AlertsResolver } from './alerts.resolver.js';
import { AlertsService } from './alerts.service.js';

@Module({
  imports: [LiveModule],
  controllers: [AlertsController],
  providers: [AlertsService, AlertsResolver, AlertNewsResolver, AlertClock],
  exports: [AlertClock, AlertsService],
})
export class AlertsModule {}
