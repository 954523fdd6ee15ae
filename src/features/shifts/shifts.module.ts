import { Module } from '@nestjs/common';
import { ShiftsController } from './shifts.controller.js';
import { ShiftsResolver } from './shifts.resolver.js';
import { ShiftsService } from './shifts.service.js';

@Module({
  controllers: [ShiftsController],
  providers: [ShiftsService, ShiftsResolver],
  exports: [ShiftsService],
})
export class ShiftsModule {}
