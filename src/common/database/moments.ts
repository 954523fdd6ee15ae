import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';

/** What Prisma passes to its adapter: each argument with its type in the schema. */
type Query = Parameters<Awaited<ReturnType<PrismaPg['connect']>>['queryRaw']>[0];
type ArgType = Query['argTypes'][number];

/** Dates and times of day are not moments. */
const isMoment = ({ scalarType, dbType }: ArgType): boolean =>
  scalarType === 'datetime' && !/^(DATE|TIME|TIMETZ)$/.test(dbType ?? '');

const written = (value: unknown): unknown => {
  if (Array.isArray(value)) return value.map(written);
  return typeof value === 'string' || value instanceof Date ? new Date(value).toISOString() : value;
};

/** The query with its moments as text in UTC, which the adapter passes on unchanged. */
const withOffsets = (query: Query): Query => {
  const moments = query.argTypes.map(isMoment);
  if (!moments.includes(true)) return query;
  return {
    ...query,
    args: query.args.map((arg, at) => (moments[at] ? written(arg) : arg)),
    argTypes: query.argTypes.map((type, at) => (moments[at] ? { ...type, scalarType: 'string' } : type)),
  };
};

/**
 * Prisma's adapter writes moments in UTC without an offset, which PostgreSQL then reads in the time zone of the transaction:
 * that of the project (`inZone`). Here each moment is written with its offset.
 */
export class PrismaPgByOffset extends PrismaPg {
  override async connect(): ReturnType<PrismaPg['connect']> {
    const adapter = await super.connect();
    const start = adapter.startTransaction.bind(adapter);
    adapter.startTransaction = async (level) => {
      const transaction = await start(level);
      const [read, write] = [
        transaction.queryRaw.bind(transaction),
        transaction.executeRaw.bind(transaction),
      ];
      transaction.queryRaw = (query) => read(withOffsets(query));
      transaction.executeRaw = (query) => write(withOffsets(query));
      return transaction;
    };
    return adapter;
  }
}

type Parse = (text: string) => unknown;
type ParserOf = (oid: number, format?: 'text' | 'binary') => Parse;

const TIMESTAMPTZ = 1184;

const inUtc: Parse = (text) => {
  const moment: unknown = (pg.types.getTypeParser(TIMESTAMPTZ) as Parse)(text);
  return moment instanceof Date ? moment.toISOString() : text;
};

/** The adapter's parsers, except that for moments: the adapter replaces PostgreSQL's offset by UTC. */
export const parserByOffset =
  (parserOf: ParserOf): ParserOf =>
  (oid, format) =>
    oid === TIMESTAMPTZ && format === 'text' ? inUtc : parserOf(oid, format);
