import { Global, Module } from '@nestjs/common';
import { Config } from '../config/config.js';
import { Admission, sharesOf } from './admission.js';
import { ControlConnection } from './control-connection.js';
import { Database } from './database.js';
import { DriveReader } from './drive-reader.service.js';
import { Gate } from './gate.js';

/** Provides `Database` and `DriveReader` to every feature. The address is known before the application is created. */
@Global()
@Module({
  providers: [
    {
      provide: Database,
      useFactory: (config: Config, gate: Gate): Database => {
        if (!config.databaseUrl) throw new Error('No database: start PostgreSQL first.');
        return new Database(config.databaseUrl, config.databasePoolSize, config, gate);
      },
      inject: [Config, Gate],
    },
    {
      provide: Gate,
      useFactory: ({ databasePoolSize, queueTimeoutMs }: Config, control: ControlConnection): Gate =>
        new Gate(new Admission(sharesOf(databasePoolSize), queueTimeoutMs), control),
      inject: [Config, ControlConnection],
    },
    ControlConnection,
    DriveReader,
  ],
  exports: [Database, DriveReader, ControlConnection, Gate],
})
export class DatabaseModule {}
