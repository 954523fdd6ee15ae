import type { EntitySet, Kind } from './entity-sets.js';
import { type Word, wordsOf } from './filter-words.js';
import { type Literal, literalOf, textLiteral } from './literals.js';
import { notCarriedOut, optionFault } from './refusals.js';

/** Collects the bound values of a statement. */
export interface Bindings {
  /** @returns the placeholder of the value in the statement */
  bind(value: unknown, cast: string): string;
}

interface Expression {
  sql: string;
  kind: Kind | 'null';
  isLiteral?: boolean;
}

/** Limits of an expression: nesting depth, and number of values and names. */
const MAX_DEPTH = 40;
const MAX_TERMS = 500;

const COMPARISONS: Readonly<Record<string, string>> = {
  eq: '=',
  ne: '<>',
  gt: '>',
  ge: '>=',
  lt: '<',
  le: '<=',
};

/** Parts of OData that the feed does not support. */
const NOT_HERE = ['add', 'sub', 'mul', 'div', 'mod', 'has', 'divby'];

interface Call {
  takes: Kind[];
  gives: Kind;
  sql: (...of: string[]) => string;
}

const WHEN: Kind[] = ['date', 'instant'];
const part = (name: string) => (of: string) => `extract(${name} from ${of})::int`;

/** Functions by name, with one variant for each kind of the first argument. Parts of an instant are in UTC, like the instants in answers. */
const CALLS: Readonly<Record<string, Call[]>> = {
  contains: [{ takes: ['text', 'text'], gives: 'boolean', sql: (a, b) => `strpos(${a}, ${b}) > 0` }],
  startswith: [{ takes: ['text', 'text'], gives: 'boolean', sql: (a, b) => `starts_with(${a}, ${b})` }],
  endswith: [
    { takes: ['text', 'text'], gives: 'boolean', sql: (a, b) => `right(${a}, length(${b})) = ${b}` },
  ],
  length: [{ takes: ['text'], gives: 'number', sql: (a) => `length(${a})` }],
  tolower: [{ takes: ['text'], gives: 'text', sql: (a) => `lower(${a})` }],
  toupper: [{ takes: ['text'], gives: 'text', sql: (a) => `upper(${a})` }],
  trim: [{ takes: ['text'], gives: 'text', sql: (a) => `trim(${a})` }],
  ...Object.fromEntries(
    ['year', 'month', 'day'].map((name) => [
      name,
      WHEN.map((kind): Call => ({
        takes: [kind],
        gives: 'number',
        sql: (a) => part(name)(kind === 'instant' ? `timezone('UTC', ${a})` : a),
      })),
    ]),
  ),
  ...Object.fromEntries(
    ['hour', 'minute'].map((name) => [
      name,
      [
        {
          takes: ['instant'],
          gives: 'number',
          sql: (a: string) => part(name)(`timezone('UTC', ${a})`),
        } as Call,
      ],
    ]),
  ),
  second: [
    {
      takes: ['instant'],
      gives: 'number',
      sql: (a) => `floor(extract(second from timezone('UTC', ${a})))::int`,
    },
  ],
  date: [{ takes: ['instant'], gives: 'date', sql: (a) => `timezone('UTC', ${a})::date` }],
  now: [{ takes: [], gives: 'instant', sql: () => 'now()' }],
  round: [{ takes: ['number'], gives: 'number', sql: (a) => `round((${a})::numeric)` }],
  floor: [{ takes: ['number'], gives: 'number', sql: (a) => `floor(${a})` }],
  ceiling: [{ takes: ['number'], gives: 'number', sql: (a) => `ceil(${a})` }],
};

/** A date compares with an instant as midnight in UTC; no other two kinds compare. */
const WORDS: Record<Kind | 'null', string> = {
  number: 'a number',
  text: 'text',
  boolean: 'true or false',
  date: 'a date',
  instant: 'a date and time with offset',
  null: 'null',
};

/** The types in PostgreSQL, for a null whose kind follows from its place. */
const TYPES: Record<Kind, string> = {
  number: 'numeric',
  text: 'text',
  boolean: 'boolean',
  date: 'date',
  instant: 'timestamptz',
};

const nullOf = (kind: Kind): string => `null::${TYPES[kind]}`;

/** Parses `$filter` from left to right, and writes the condition in SQL with every value bound. */
class FilterReader {
  private readonly words: Word[];
  private at = 0;
  private depth = 0;
  private terms = 0;

  constructor(
    source: string,
    private readonly set: EntitySet,
    private readonly bindings: Bindings,
  ) {
    try {
      this.words = wordsOf(source);
    } catch (error) {
      throw this.fault(
        `cannot be read from character ${Number((error as Error).message) + 1} on: is a quote left open?`,
      );
    }
  }

  read(): string {
    const found = this.condition();
    const rest = this.word;
    if (rest.kind !== 'end') throw this.unexpected(rest, 'and, or, or the end');
    return found;
  }

  private get word(): Word {
    return this.words[this.at] as Word;
  }

  private fault(detail: string): Error {
    return optionFault('$filter', detail);
  }

  private unexpected({ kind, text, at }: Word, wanted: string): Error {
    const found = kind === 'end' ? 'it ends' : `it has ${JSON.stringify(text.slice(0, 50))}`;
    return this.fault(`at character ${at + 1} ${found} where ${wanted} is expected`);
  }

  private isNext(text: string, kind: Word['kind'] = 'word'): boolean {
    return this.word.kind === kind && this.word.text === text;
  }

  private takes(text: string, kind: Word['kind'] = 'word'): boolean {
    const found = this.isNext(text, kind);
    if (found) this.at += 1;
    return found;
  }

  private expect(sign: string): void {
    if (!this.takes(sign, 'sign')) throw this.unexpected(this.word, JSON.stringify(sign));
  }

  private condition(): string {
    const { at } = this.word;
    const found = this.either();
    return this.boolean(found, `at character ${at + 1}: ${WORDS[found.kind]} is no condition`);
  }

  /** SQL of a condition, which null is too: SQL joins and negates true, false and null as OData does. */
  private boolean({ kind, sql }: Expression, otherwise: string): string {
    if (kind !== 'boolean' && kind !== 'null') throw this.fault(otherwise);
    return kind === 'null' ? nullOf('boolean') : sql;
  }

  private joined(word: 'and' | 'or', next: () => Expression): Expression {
    const first = next();
    if (!this.isNext(word)) return first;
    const all = [first];
    while (this.takes(word)) all.push(next());
    const conditions = all.map((one) =>
      this.boolean(one, `${word} joins conditions, not ${WORDS[one.kind]}`),
    );
    return { kind: 'boolean', sql: `(${conditions.join(` ${word} `)})` };
  }

  private either(): Expression {
    return this.joined('or', () => this.joined('and', () => this.comparison()));
  }

  private comparison(): Expression {
    const left = this.value();
    const { kind, text } = this.word;
    if (kind !== 'word') return left;
    const operator = Object.hasOwn(COMPARISONS, text) ? COMPARISONS[text] : undefined;
    if (NOT_HERE.includes(text)) throw notCarriedOut(`the operator ${text} in $filter`);
    if (text === 'in') return this.isIn(left);
    if (operator === undefined) return left;
    this.at += 1;
    return this.compared(left, text, operator, this.value());
  }

  private compared(left: Expression, name: string, operator: string, right: Expression): Expression {
    const isEquality = name === 'eq' || name === 'ne';
    if (left.kind === 'null' || right.kind === 'null') {
      const { sql } = left.kind === 'null' ? right : left;
      // no value is greater or less than null, and null equals itself; what is bound must stand in the statement
      if (!isEquality) return { kind: 'boolean', sql: `(${sql} is null and false)` };
      return { kind: 'boolean', sql: `(${sql} is ${name === 'eq' ? '' : 'not '}null)` };
    }
    this.match(left, right, name);
    if (name === 'eq' && (left.isLiteral === true || right.isLiteral === true))
      return { kind: 'boolean', sql: `coalesce(${left.sql} = ${right.sql}, false)` };
    if (isEquality)
      return {
        kind: 'boolean',
        sql: `(${left.sql} is ${name === 'eq' ? 'not ' : ''}distinct from ${right.sql})`,
      };
    return { kind: 'boolean', sql: `coalesce(${left.sql} ${operator} ${right.sql}, false)` };
  }

  private match(left: Expression, right: Expression, name: string): void {
    if (left.kind !== right.kind)
      throw this.fault(
        `${name} compares values of one type, not ${WORDS[left.kind]} with ${WORDS[right.kind]}`,
      );
  }

  private isIn(left: Expression): Expression {
    this.at += 1;
    this.expect('(');
    const list: Expression[] = [];
    do {
      const value = this.value();
      if (left.kind !== 'null' && value.kind !== 'null') this.match(left, value, 'in');
      list.push(value);
    } while (this.takes(',', 'sign'));
    this.expect(')');
    const values = list.filter(({ kind }) => kind !== 'null');
    const among =
      values.length > 0
        ? `coalesce(${left.sql} in (${values.map(({ sql }) => sql).join(', ')}), false)`
        : 'false';
    return {
      kind: 'boolean',
      sql: list.length > values.length ? `(${among} or ${left.sql} is null)` : among,
    };
  }

  private value(): Expression {
    this.terms += 1;
    if (this.terms > MAX_TERMS) throw this.fault(`has more than ${MAX_TERMS} values and names`);
    this.depth += 1;
    if (this.depth > MAX_DEPTH) throw this.fault(`is nested more than ${MAX_DEPTH} deep`);
    const found = this.single();
    this.depth -= 1;
    return found;
  }

  private single(): Expression {
    const word = this.word;
    if (word.kind === 'text') {
      this.at += 1;
      return this.bound(textLiteral(word.text));
    }
    if (this.takes('(', 'sign')) {
      const within = this.either();
      this.expect(')');
      return within;
    }
    if (word.kind !== 'word') throw this.unexpected(word, 'a property, a value or a function');
    this.at += 1;
    if (word.text === 'not') return this.negated();
    if (this.isNext('(', 'sign')) return this.called(word);
    if (word.text === 'null') return { kind: 'null', sql: 'null' };
    return this.named(word);
  }

  private negated(): Expression {
    const found = this.value();
    const sql = this.boolean(found, `not takes a condition, not ${WORDS[found.kind]}: put it in brackets`);
    return { kind: 'boolean', sql: `(not ${sql})` };
  }

  private called(word: Word): Expression {
    const ways = Object.hasOwn(CALLS, word.text) ? CALLS[word.text] : undefined;
    if (!ways) throw notCarriedOut(`the function ${word.text.slice(0, 50)} in $filter`);
    this.expect('(');
    const given: Expression[] = [];
    if (!this.takes(')', 'sign')) {
      do given.push(this.either());
      while (this.takes(',', 'sign'));
      this.expect(')');
    }
    const way = ways.find(
      ({ takes }) =>
        takes.length === given.length &&
        takes.every((kind, i) => given[i]?.kind === kind || given[i]?.kind === 'null'),
    );
    if (!way) {
      const wanted = ways.map(({ takes }) => takes.map((kind) => WORDS[kind]).join(' and ')).join(', or ');
      throw this.fault(`${word.text} takes ${wanted || 'nothing'}`);
    }
    const sql = way.sql(
      ...given.map((one, i) => (one.kind === 'null' ? nullOf(way.takes[i] ?? 'text') : one.sql)),
    );
    return { kind: way.gives, sql: way.gives === 'boolean' ? `(${sql})` : sql };
  }

  private bound({ kind, value, cast }: Literal): Expression {
    return { kind, sql: this.bindings.bind(value, cast), isLiteral: true };
  }

  private named(word: Word): Expression {
    const property = this.set.properties.get(word.text);
    if (property) return { kind: property.kind, sql: property.sql };
    const literal = literalOf(word.text);
    if (literal) return this.bound(literal);
    throw this.fault(
      `at character ${word.at + 1}: ${JSON.stringify(word.text.slice(0, 50))} is neither a property of ${this.set.name} nor a value (text stands in quotes, a date and time has an offset)`,
    );
  }
}

/**
 * The condition of `$filter` as SQL over a row of the set (OData 4.0 Part 2, 5.1.1). It is null where a function or `not` takes null:
 * such a row is left out, as one for which it is false.
 * @throws ProblemError invalid for a syntax error or values that cannot be compared; not_implemented for other parts of OData
 */
export const filterSql = (source: string, set: EntitySet, bindings: Bindings): string =>
  new FilterReader(source, set, bindings).read();
