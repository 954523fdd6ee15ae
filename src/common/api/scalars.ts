import { GraphQLError, GraphQLScalarType, Kind } from 'graphql';

const textScalar = (name: string, description: string): GraphQLScalarType<string, string> =>
  new GraphQLScalarType({
    name,
    description,
    serialize: String,
    parseValue: (value) => {
      if (typeof value === 'string' || typeof value === 'number') return String(value);
      throw new GraphQLError(`${name} must be a string or a number`);
    },
    parseLiteral: (node) => {
      if (node.kind === Kind.STRING || node.kind === Kind.INT || node.kind === Kind.FLOAT) return node.value;
      throw new GraphQLError(`${name} must be a string or a number`);
    },
  });

export const ChainageScalar = textScalar(
  'Chainage',
  'Chainage as 12+345.678, or plain metres, to the millimetre.',
);
export const DecimalScalar = textScalar('Decimal', 'Exact decimal number, written as a string.');
export const InstantScalar = textScalar(
  'Instant',
  'Moment in time with its offset (RFC 3339), such as 2027-03-01T06:00:00+01:00.',
);
export const JsonScalar = new GraphQLScalarType({
  name: 'Json',
  description: 'Any JSON value; only answered, never taken.',
  serialize: (value) => value,
});
export const DateScalar = textScalar('Date', 'Calendar date, YYYY-MM-DD.');
