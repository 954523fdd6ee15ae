import { Module } from '@nestjs/common';
import { ShiftLifeController } from './shift-life.controller.js';
import { ShiftLifeResolver } from './shift-life.resolver.js';
import { ShiftLifeService } from './shift-life.service.js';
import { ShiftListController } from './shift-list.controller.js';
import { ListedShiftResolver, ShiftListResolver } from './shift-list.resolver.js';
import { ShiftListService } from './shift-list.service.js';
import { ShiftsController } from './shifts.controller.js';
import { ShiftsResolver } from './shifts.resolver.js';
import { ShiftsService } from './shifts.service.js';

@Module({
  controllers: [ShiftsController, ShiftListController, ShiftLifeController],
  providers: [
    ShiftsService,
    ShiftsResolver,
    ShiftListService,
    ShiftListResolver,
    ListedShiftResolver,
    ShiftLifeService,
    ShiftLifeResolver,
  ],
})
export class ShiftsModule {}
