import { Module } from '@nestjs/common';
import { ODataController } from './odata.controller.js';
import { ODataService } from './odata.service.js';

@Module({ controllers: [ODataController], providers: [ODataService] })
export class ODataModule {}
