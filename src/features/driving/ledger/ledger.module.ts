import { Module } from '@nestjs/common';
import { LedgerController } from './ledger.controller.js';
import { LedgerResolver } from './ledger.resolver.js';
import { LedgerService } from './ledger.service.js';
import { UtilisationService } from './utilisation.service.js';

@Module({ controllers: [LedgerController], providers: [LedgerService, UtilisationService, LedgerResolver] })
export class LedgerModule {}
