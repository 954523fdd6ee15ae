import { GraphQLError, GraphQLScalarType, Kind } from 'graphql';

const textScalar = (
  name: string,
  specifiedByURL: string,
  description: string,
): GraphQLScalarType<string, string> =>
  new GraphQLScalarType({
    name,
    description,
    specifiedByURL,
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
  // the format is defined by this project, so the specification is in the URL itself
  'data:text/plain,Kilometres%2C%20a%20plus%20sign%20and%20metres%20below%201000%20(12%2B345.678)%20or%20metres%20alone%20(12345.678)%2C%20with%20at%20most%203%20decimals',
  'Chainage as 12+345.678, or plain metres, to the millimetre.',
);
export const DecimalScalar = textScalar(
  'Decimal',
  'https://www.w3.org/TR/xmlschema11-2/#decimal',
  'Exact decimal number, written as a string.',
);
export const InstantScalar = textScalar(
  'Instant',
  'https://www.rfc-editor.org/rfc/rfc3339',
  'Moment in time with its offset (RFC 3339), such as 2027-03-01T06:00:00+01:00.',
);
export const JsonScalar = new GraphQLScalarType({
  name: 'Json',
  specifiedByURL: 'https://www.rfc-editor.org/rfc/rfc8259',
  description: 'Any JSON value; output only.',
  serialize: (value) => value,
});
export const DateScalar = textScalar(
  'Date',
  'https://www.rfc-editor.org/rfc/rfc3339#section-5.6',
  'Calendar date, YYYY-MM-DD.',
);
