import { applyDecorators, Header } from '@nestjs/common';
import { ArgsType } from '@nestjs/graphql';
import { ApiOperation, ApiResponse } from '@nestjs/swagger';
import { CodeField, EnumField, IntField, TextField } from '../../../common/api/fields.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { headerReference } from '../../../common/api/openapi-headers.js';
import { ProjectPath } from '../../../common/api/paths.js';

@ArgsType()
export class EntitySetPath extends ProjectPath {
  @CodeField({ description: 'Name of the entity set, as the service document lists it' })
  set: string;
}

/** A boolean in an address. */
const TrueFalse = { true: 'true', false: 'false' } as const;
type TrueFalse = keyof typeof TrueFalse;

export class FormatQuery {
  @TextField({
    description: 'Format of the answer, instead of Accept: json',
    maxLength: 200,
    optional: true,
  })
  $format?: string;
}

export class CountQuery {
  @TextField({ description: 'Only entities for which the condition holds', maxLength: 8000, optional: true })
  $filter?: string;
}

export class EntitiesQuery extends CountQuery {
  @TextField({
    description: 'Properties to return, separated by commas; all when not given',
    maxLength: 4000,
    optional: true,
  })
  $select?: string;

  @TextField({
    description:
      'Properties to order by, separated by commas, each followed by asc or desc; the key decides between equals',
    maxLength: 4000,
    optional: true,
  })
  $orderby?: string;

  @IntField({ description: 'Maximum number of entities in all', min: 0, optional: true })
  $top?: number;

  @IntField({ description: 'Number of entities to skip', min: 0, optional: true })
  $skip?: number;

  @EnumField({
    description: 'Whether the answer says how many entities there are',
    values: TrueFalse,
    name: 'TrueFalse',
    optional: true,
  })
  $count?: TrueFalse;

  @TextField({
    description: 'Position in the order, as given in the link to the next page',
    maxLength: 4000,
    optional: true,
  })
  $skiptoken?: string;

  @TextField({
    description: 'Format of the answer, instead of Accept: json',
    maxLength: 200,
    optional: true,
  })
  $format?: string;
}

/** Describes a route of the feed and its answer, with the OData version header. */
const FeedAnswer = (
  summary: string,
  type: string,
  schema: object,
  ...more: 'Preference-Applied'[]
): MethodDecorator =>
  applyDecorators(
    Header('OData-Version', '4.0'),
    ApiOperation({ summary }),
    ApiResponse({
      status: 200,
      description: summary,
      headers: Object.fromEntries(
        (['OData-Version', ...more] as const).map((name) => [name, headerReference(name)]),
      ),
      content: { [type]: { schema } },
    }),
  );

export const FeedText = (summary: string, type: string): MethodDecorator =>
  applyDecorators(
    Header('content-type', `${type};charset=utf-8`),
    FeedAnswer(summary, type, { type: 'string' }),
  );

const CONTEXT = {
  type: 'string',
  format: 'uri',
  description: 'What the answer is, by the description of the feed',
};

const ENTITY_SET = {
  type: 'object',
  properties: {
    name: { type: 'string', description: 'Name of the entity set' },
    kind: { type: 'string', const: 'EntitySet', description: 'What it is' },
    url: { type: 'string', description: 'Its address, relative to the service document' },
  },
  required: ['name', 'kind', 'url'],
};

const listOf = (items: object, more: object): object => ({
  type: 'object',
  properties: {
    '@odata.context': CONTEXT,
    value: { type: 'array', items, description: 'The entries' },
    ...more,
  },
  required: ['value'],
});

export const FeedSets = (summary: string): MethodDecorator =>
  FeedAnswer(summary, JSON_TYPE, listOf(ENTITY_SET, {}));

export const FeedEntities = (summary: string): MethodDecorator =>
  FeedAnswer(
    summary,
    JSON_TYPE,
    listOf(
      {
        type: 'object',
        additionalProperties: true,
        description: 'An entity: its properties as $metadata describes them',
      },
      {
        '@odata.count': { type: 'integer', description: 'Entities that the filter finds, over all pages' },
        '@odata.nextLink': {
          type: 'string',
          format: 'uri',
          description: 'Address of the next page; absent on the last',
        },
      },
    ),
    'Preference-Applied',
  );
