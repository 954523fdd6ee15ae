import path from 'node:path';
import { Test } from '@nestjs/testing';
import { Config, loadConfig } from '../../src/common/config/config.js';
import { ConfigModule } from '../../src/common/config/config.module.js';
import { packageRoot } from '../../src/common/package-root.js';

const faultsOf = (env: NodeJS.ProcessEnv): string => {
  try {
    loadConfig(env);
  } catch (error) {
    return (error as Error).message;
  }
  throw new Error('the environment was taken');
};

describe('configuration', () => {
  it('has a default for everything, and takes empty for unset', () => {
    const defaults = {
      databaseUrl: undefined,
      dataDir: path.join(packageRoot, 'data'),
      dataDirChosen: false,
      host: '127.0.0.1',
      port: 3000,
      logLevel: 'info',
      databasePoolSize: 10,
      statementTimeoutMs: 30_000,
      lockTimeoutMs: 10_000,
      corsOrigins: [],
    };
    expect(loadConfig({})).toEqual(defaults);
    const empty = {
      DATABASE_URL: '',
      DATA_DIR: '',
      HOST: '',
      PORT: '',
      LOG_LEVEL: '',
      DATABASE_POOL_SIZE: '',
    };
    expect(loadConfig(empty)).toEqual(defaults);
  });

  it('reads every variable', () => {
    const env = {
      DATABASE_URL: 'postgres://site:pw@db/drive',
      DATA_DIR: 'here/data',
      HOST: '0.0.0.0',
      PORT: '0',
      LOG_LEVEL: 'silent',
      DATABASE_POOL_SIZE: '100',
      DATABASE_STATEMENT_TIMEOUT_MS: '5000',
      DATABASE_LOCK_TIMEOUT_MS: '500',
      CORS_ORIGINS: 'https://office.example,http://127.0.0.1:8080',
      UNRELATED: 'x',
    };
    expect(loadConfig(env)).toEqual({
      databaseUrl: 'postgres://site:pw@db/drive',
      dataDir: path.resolve('here/data'),
      dataDirChosen: true,
      host: '0.0.0.0',
      port: 0,
      logLevel: 'silent',
      databasePoolSize: 100,
      statementTimeoutMs: 5000,
      lockTimeoutMs: 500,
      corsOrigins: ['https://office.example', 'http://127.0.0.1:8080'],
    });
  });

  it('tells all faults at once, each with variable, value and rule, and no secret', () => {
    const message = faultsOf({
      DATABASE_URL: 'mysql://site:s3cret@db/drive',
      HOST: 'two words',
      PORT: '65536',
      LOG_LEVEL: 'loud',
      DATABASE_POOL_SIZE: 'many',
    });
    expect(message.split('\n')).toEqual([
      'The environment is not valid:',
      '  DATABASE_URL: its value (not shown) must begin with postgres:// or postgresql:// and name a host',
      '  HOST: "two words" must be a host name or an address',
      '  PORT: "65536" must be from 0 (any free port) to 65535',
      '  LOG_LEVEL: "loud" must be one of fatal, error, warn, info, debug, trace, silent',
      '  DATABASE_POOL_SIZE: "many" must be a whole number',
    ]);
  });

  it.each(['-1', '80.5', '0x50', '1e3', ' 80', 'abc'])('refuses port %j', (PORT) => {
    expect(faultsOf({ PORT })).toContain('PORT');
  });

  it.each(['0', '101', '2.5'])('refuses pool size %j', (DATABASE_POOL_SIZE) => {
    expect(faultsOf({ DATABASE_POOL_SIZE })).toContain('DATABASE_POOL_SIZE');
  });

  it('is injected as Config', async () => {
    const module = await Test.createTestingModule({
      imports: [ConfigModule.with(loadConfig({ PORT: '1234' }))],
    }).compile();
    expect(module.get(Config)).toEqual(loadConfig({ PORT: '1234' }));
  });
});
