import { DuckDBInstance } from '@duckdb/node-api';

/** Runs SQL in DuckDB, in memory, which has its own implementation of Parquet. Large numbers and decimals are returned as text. */
export const ducked = async <Row = Record<string, unknown>>(sql: string): Promise<Row[]> => {
  const instance = await DuckDBInstance.create(':memory:');
  try {
    const connection = await instance.connect();
    try {
      await connection.run(`set timezone = 'UTC'`);
      const reader = await connection.runAndReadAll(sql);
      return reader.getRowObjectsJson() as Row[];
    } finally {
      connection.closeSync();
    }
  } finally {
    instance.closeSync();
  }
};
