import { Global, Module } from '@nestjs/common';
import { Config } from '../config/config.js';
import { Database } from './database.js';
import { DriveReader } from './drive-reader.service.js';

/** Gives `Database`, and reads of a drive by its code, to every feature. The address is settled before the application is made. */
@Global()
@Module({
  providers: [
    {
      provide: Database,
      useFactory: (config: Config): Database => {
        if (!config.databaseUrl) throw new Error('No database: start PostgreSQL first.');
        return new Database(config.databaseUrl, config.databasePoolSize, config);
      },
      inject: [Config],
    },
    DriveReader,
  ],
  exports: [Database, DriveReader],
})
export class DatabaseModule {}
