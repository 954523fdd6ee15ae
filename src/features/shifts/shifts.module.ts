import { Module } from '@nestjs/common';
import { ShiftLifeController } from './shift-life.controller.js';
import { ShiftLifeResolver } from './shift-life.resolver.js';
import { ShiftLifeService } from './shift-life.service.js';
import { ShiftsController } from './shifts.controller.js';
import { ShiftsResolver } from './shifts.resolver.js';
import { ShiftsService } from './shifts.service.js';

@Module({
  controllers: [ShiftsController, ShiftLifeController],
  providers: [ShiftsService, ShiftsResolver, ShiftLifeService, ShiftLifeResolver],
})
export class ShiftsModule {}
