import {
  type DocumentNode,
  type FieldNode,
  type FragmentDefinitionNode,
  getNamedType,
  getNullableType,
  type GraphQLField,
  type GraphQLNamedType,
  type GraphQLSchema,
  type InlineFragmentNode,
  isInterfaceType,
  isIntrospectionType,
  isLeafType,
  isListType,
  isObjectType,
  Kind,
  type OperationDefinitionNode,
  type SelectionNode,
  type SelectionSetNode,
  valueFromASTUntyped,
} from 'graphql';

/** Cost of a field that reads the database. Any other costs 1. */
const READ_COST = 100;
/** Types whose fields each read the database when they answer more than a single value. */
export const READERS = new Set(['Query', 'Mutation', 'Subscription', 'Project', 'Drive', 'ShiftHead']);

/** Entries assumed for a list that is not paged. */
const MANY = 100;
/** The same for a list within a list, such as the borings of strokes, and for one whose entries read the database. */
const FEW = 10;
/** Types whose lists are always short: a day has few shifts. */
const FEW_BY_NATURE = new Set(['DailyShift']);
const DEFAULT_PAGE = 100;
const LARGEST_PAGE = 1000;

export interface Weight {
  cost: number;
  aliases: number;
  /** Nesting depth of fields. */
  depth: number;
}

/** Position of a selection. */
interface Place {
  type?: GraphQLNamedType;
  /** Page size of the lists directly below; undefined if no page size was given. */
  page?: number;
  isInList: boolean;
}

const NOTHING: Weight = { cost: 0, aliases: 0, depth: 0 };

export type Variables = Record<string, unknown>;

const reads = (parent?: GraphQLNamedType, type?: GraphQLNamedType): boolean =>
  parent !== undefined && READERS.has(parent.name) && type !== undefined && !isLeafType(type);

const fieldOf = (
  parent: GraphQLNamedType | undefined,
  name: string,
): GraphQLField<unknown, unknown> | undefined =>
  isObjectType(parent) || isInterfaceType(parent) ? parent.getFields()[name] : undefined;

/** The effective variables: those given, and the defaults of the others. */
const variablesOf = ({ variableDefinitions = [] }: OperationDefinitionNode, given: Variables): Variables => ({
  ...Object.fromEntries(
    variableDefinitions.flatMap(({ variable, defaultValue }) =>
      defaultValue ? [[variable.name.value, valueFromASTUntyped(defaultValue)]] : [],
    ),
  ),
  ...given,
});

/**
 * Computes the cost of an operation before it runs. A field costs 1, or 100 when it reads the database; the fields below a
 * list count once per entry: as many as `first` asks for, otherwise 100, or 10 for a list within a list and for lists that are
 * always short. A list with the complexity 1 is absent in other lists, and counts 1 there. Fragments count wherever they are spread, and fields under @skip or @include count even when skipped.
 * Introspection is answered from memory: 1 per field, however long the lists.
 */
class Scales {
  private readonly fragments: Map<string, FragmentDefinitionNode>;
  /** By fragment and position: without this memo, fragments that spread one another twice would take exponential time. */
  private readonly weighed = new Map<string, Weight>();

  constructor(
    private readonly schema: GraphQLSchema,
    { definitions }: DocumentNode,
    private readonly variables: Variables,
  ) {
    const fragments = definitions.filter((definition) => definition.kind === Kind.FRAGMENT_DEFINITION);
    this.fragments = new Map(fragments.map((fragment) => [fragment.name.value, fragment]));
  }

  weigh({ selections }: SelectionSetNode, place: Place): Weight {
    const sum = { ...NOTHING };
    for (const selection of selections) {
      const { cost, aliases, depth } = this.selection(selection, place);
      sum.cost += cost;
      sum.aliases += aliases;
      sum.depth = Math.max(sum.depth, depth);
    }
    return sum;
  }

  private selection(selection: SelectionNode, place: Place): Weight {
    switch (selection.kind) {
      case Kind.FIELD:
        return this.field(selection, place);
      case Kind.INLINE_FRAGMENT:
        return this.fragment(selection, place);
      case Kind.FRAGMENT_SPREAD: {
        const { value } = selection.name;
        const key = `${value} ${place.page} ${place.isInList}`;
        const known = this.weighed.get(key);
        if (known) return known;
        const fragment = this.fragments.get(value);
        const weight = fragment ? this.fragment(fragment, place) : NOTHING;
        this.weighed.set(key, weight);
        return weight;
      }
    }
  }

  private fragment(
    { typeCondition, selectionSet }: Pick<InlineFragmentNode, 'typeCondition' | 'selectionSet'>,
    place: Place,
  ): Weight {
    const type = typeCondition ? this.schema.getType(typeCondition.name.value) : place.type;
    return this.weigh(selectionSet, { ...place, type: type && isIntrospectionType(type) ? undefined : type });
  }

  private field(node: FieldNode, { type: parent, page, isInList }: Place): Weight {
    const field = fieldOf(parent, node.name.value);
    const type = field && getNamedType(field.type);
    const isList = field !== undefined && isListType(getNullableType(field.type));
    const place = { type, page: this.pageOf(node, field), isInList: isInList || isList };
    const below = node.selectionSet ? this.weigh(node.selectionSet, place) : NOTHING;
    const isFew = type && (READERS.has(type.name) || FEW_BY_NATURE.has(type.name));
    const assumed = isInList || isFew ? FEW : MANY;
    const isAbsent = isInList && field?.extensions['complexity'] === 1;
    const entries = isAbsent ? 0 : (page ?? assumed);
    const times = isList ? entries : 1;
    return {
      cost: (reads(parent, type) ? READ_COST : 1) + times * below.cost,
      aliases: (node.alias ? 1 : 0) + below.aliases,
      depth: 1 + below.depth,
    };
  }

  private pageOf(node: FieldNode, field?: GraphQLField<unknown, unknown>): number | undefined {
    if (!field?.args.some(({ name }) => name === 'first')) return undefined;
    const asked = node.arguments?.find(({ name }) => name.value === 'first')?.value;
    const first: unknown = asked && valueFromASTUntyped(asked, this.variables);
    if (first == null) return DEFAULT_PAGE;
    // An invalid page size is refused later, where it is read.
    return typeof first === 'number' && first >= 1 && first <= LARGEST_PAGE ? first : LARGEST_PAGE;
  }
}

/** The cost of an operation, its number of aliases and its depth, fragments included. */
export const weigh = (
  schema: GraphQLSchema,
  document: DocumentNode,
  operation: OperationDefinitionNode,
  given: Variables,
): Weight => {
  const scales = new Scales(schema, document, variablesOf(operation, given));
  const type = schema.getRootType(operation.operation) ?? undefined;
  return scales.weigh(operation.selectionSet, { type, isInList: false });
};
