import { Module } from '@nestjs/common';
import { ProgrammeController } from './programme.controller.js';
import { ProgrammeResolver } from './programme.resolver.js';
import { ProgrammeService } from './programme.service.js';

@Module({
  controllers: [ProgrammeController],
  providers: [ProgrammeService, ProgrammeResolver],
  exports: [ProgrammeService],
})
export class ProgrammeModule {}
