/** Compares the database the migrations make with schema.prisma, by Prisma's schema engine as WebAssembly. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { PrismaPg } from '@prisma/adapter-pg';
import { bindMigrationAwareSqlAdapterFactory, ColumnTypeEnum } from '@prisma/driver-adapter-utils';
import * as bindings from '@prisma/schema-engine-wasm/schema_engine_bg';
import './typescript.mjs';

const { startTemporaryPostgres } = await import('../../src/common/database/embedded-postgres.ts');
const { migrate } = await import('../../src/common/database/migrate.ts');

const schemaFile = path.resolve(import.meta.dirname, '..', 'schema.prisma');

async function loadEngine() {
  const folder = path.dirname(
    createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm/schema_engine_bg'),
  );
  const wasm = readFileSync(path.join(folder, 'schema_engine_bg.wasm'));
  globalThis.PRISMA_WASM_PANIC_REGISTRY = { set_message: (message) => process.stderr.write(`${message}\n`) };
  const { instance } = await WebAssembly.instantiate(wasm, { './schema_engine_bg.js': bindings });
  bindings.__wbg_set_wasm(instance.exports);
  instance.exports.__wbindgen_start();
  return bindings.SchemaEngine;
}

const CHAR = 18;
const TEXT = 25;

/** The catalogue holds columns of type "char", which the adapter does not know: read them as text, hand them on as character. */
function readingChar(queryable) {
  const { performIO, queryRaw } = queryable;
  let places = [];
  queryable.performIO = async (query) => {
    const result = await performIO.call(queryable, query);
    places = result.fields.flatMap((field, place) => (field.dataTypeID === CHAR ? [place] : []));
    for (const place of places) result.fields[place].dataTypeID = TEXT;
    return result;
  };
  queryable.queryRaw = async (query) => {
    const result = await queryRaw.call(queryable, query);
    for (const place of places) result.columnTypes[place] = ColumnTypeEnum.Character;
    return result;
  };
  return queryable;
}

class Adapter extends PrismaPg {
  async connect() {
    const adapter = readingChar(await super.connect());
    const startTransaction = adapter.startTransaction.bind(adapter);
    adapter.startTransaction = async (level) => readingChar(await startTransaction(level));
    return adapter;
  }
}

/**
 * The SQL that leads from the migrated database to schema.prisma; empty when they agree.
 * @returns {Promise<string>}
 */
export async function difference() {
  const server = await startTemporaryPostgres('drift');
  try {
    await migrate(server.url);
    const SchemaEngine = await loadEngine();
    const content = readFileSync(schemaFile, 'utf8');
    const factory = bindMigrationAwareSqlAdapterFactory(new Adapter({ connectionString: server.url }));
    const engine = await SchemaEngine.new({ datamodels: [[schemaFile, content]] }, () => {}, factory);
    const { exitCode, stdout } = await engine.diff({
      from: {
        tag: 'schemaDatasource',
        files: [{ path: schemaFile, content }],
        configDir: path.dirname(schemaFile),
      },
      to: { tag: 'schemaDatamodel', files: [{ path: schemaFile, content }] },
      script: true,
      exitCode: true,
      filters: { externalTables: [], externalEnums: [] },
    });
    return exitCode === 0 ? '' : (stdout ?? '');
  } finally {
    await server.stop();
  }
}
