import { Module } from '@nestjs/common';
import { TogetherModule } from '../../../common/imports/together.module.js';
import { JobsModule } from '../../watch/jobs/jobs.module.js';
import { CatalogueCodes } from './catalogue-codes.js';
import { ImportJob } from './import-job.service.js';
import { ImportJobsController } from './import-jobs.controller.js';
import { ImportUploads } from './import-upload.service.js';
import { ImportsController } from './imports.controller.js';
import { ImportsResolver } from './imports.resolver.js';
import { ImportsService } from './imports.service.js';
import { KindAccess } from './kind-access.js';
import { Kinds } from './kinds.service.js';
import { LargeImports } from './large-imports.service.js';

@Module({
  imports: [JobsModule, TogetherModule],
  controllers: [ImportsController, ImportJobsController],
  providers: [
    CatalogueCodes,
    ImportsService,
    ImportsResolver,
    ImportJob,
    ImportUploads,
    KindAccess,
    Kinds,
    LargeImports,
  ],
  exports: [ImportsService, LargeImports],
})
export class ImportsModule {}
