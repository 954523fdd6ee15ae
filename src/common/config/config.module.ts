import { type DynamicModule, Module } from '@nestjs/common';
import { Config } from './config.js';

/** Provides `Config` to every module. */
@Module({})
export class ConfigModule {
  static with(config: Config): DynamicModule {
    return {
      module: ConfigModule,
      global: true,
      providers: [{ provide: Config, useValue: config }],
      exports: [Config],
    };
  }
}
