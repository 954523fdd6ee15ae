/** A part of an OpenAPI document, as JSON. */
type Json = Record<string, unknown>;

/** Direction of a value: for input a change may accept more, for answers it may promise more. */
type Way = 'sent' | 'answered';

const METHODS = ['get', 'put', 'post', 'delete'];

const isJson = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const partsOf = (value: unknown): Json => (isJson(value) ? value : {});

const listOf = (value: unknown): unknown[] => (Array.isArray(value) ? (value as unknown[]) : []);

const namesOf = (value: unknown): string[] => listOf(value).map(String);

const typesOf = ({ type }: Json): string[] => [type].flat().filter((each) => each !== undefined) as string[];

const without = <T>(all: readonly T[], others: readonly T[]): T[] =>
  all.filter((each) => !others.includes(each));

/** Limits, and whether a larger one accepts more. */
const LIMITS: [name: string, takesMore: boolean][] = [
  ['maximum', true],
  ['maxLength', true],
  ['maxItems', true],
  ['minimum', false],
  ['minLength', false],
  ['minItems', false],
];

class Comparison {
  readonly breaks: string[] = [];
  private readonly seen = new Set<string>();

  constructor(
    private readonly before: Json,
    private readonly after: Json,
  ) {}

  private resolved(document: Json, value: unknown): Json {
    const { $ref } = partsOf(value);
    if (typeof $ref !== 'string') return partsOf(value);
    const found = $ref
      .split('/')
      .slice(1)
      .reduce<unknown>((at, step) => partsOf(at)[step], document);
    return this.resolved(document, found);
  }

  schemas(place: string, old: unknown, next: unknown, way: Way): void {
    const pair = `${JSON.stringify(partsOf(old)['$ref'])} ${JSON.stringify(partsOf(next)['$ref'])} ${way}`;
    if (partsOf(old)['$ref'] !== undefined) {
      if (this.seen.has(pair)) return;
      this.seen.add(pair);
    }
    const [was, is] = [this.resolved(this.before, old), this.resolved(this.after, next)];
    this.types(place, was, is, way);
    this.limits(place, was, is, way);
    const [had, has] = [partsOf(was['properties']), partsOf(is['properties'])];
    for (const [name, property] of Object.entries(had)) {
      if (!(name in has)) this.breaks.push(`${place}/${name} is gone`);
      else this.schemas(`${place}/${name}`, property, has[name], way);
    }
    const [needed, needs] = [namesOf(was['required']), namesOf(is['required'])];
    for (const name of way === 'sent' ? without(needs, needed) : without(needed, needs))
      if (way === 'sent' || name in has)
        this.breaks.push(`${place}/${name} ${way === 'sent' ? 'must now be sent' : 'may now be absent'}`);
    if (was['items']) this.schemas(`${place}[]`, was['items'], is['items'], way);
    for (const key of ['allOf', 'anyOf', 'oneOf'])
      for (const [index, part] of listOf(was[key]).entries()) {
        const twin = listOf(is[key])[index];
        if (twin === undefined) this.breaks.push(`${place} has lost a part of its ${key}`);
        else this.schemas(place, part, twin, way);
      }
  }

  private types(place: string, was: Json, is: Json, way: Way): void {
    const [old, next] = [typesOf(was), typesOf(is)];
    const wrong = way === 'sent' ? without(old, next) : without(next, old);
    if (wrong.length > 0) {
      const words = way === 'sent' ? 'no longer takes' : 'may now be';
      this.breaks.push(`${place} ${words} ${wrong.join(', ')}`);
    }
    const gone = without(listOf(was['enum']), listOf(is['enum']));
    if (way === 'sent' && is['enum'] && (gone.length > 0 || !was['enum']))
      this.breaks.push(`${place} no longer takes ${gone.length > 0 ? gone.join(', ') : 'any value'}`);
    if (was['format'] !== is['format'])
      this.breaks.push(`${place} has another format: ${String(was['format'])} → ${String(is['format'])}`);
  }

  private limits(place: string, was: Json, is: Json, way: Way): void {
    if (way === 'answered') return;
    for (const [name, takesMore] of LIMITS) {
      const [old, next] = [was[name], is[name]] as (number | undefined)[];
      if (next === undefined || old === next) continue;
      if (old === undefined || (takesMore ? next < old : next > old))
        this.breaks.push(`${place} is held closer: ${name} ${old ?? 'none'} → ${next}`);
    }
    if (is['pattern'] !== undefined && was['pattern'] !== is['pattern'])
      this.breaks.push(`${place} has another pattern`);
  }

  contents(place: string, old: unknown, next: unknown, way: Way): void {
    const [was, is] = [partsOf(partsOf(old)['content']), partsOf(partsOf(next)['content'])];
    for (const [type, content] of Object.entries(was)) {
      if (!(type in is)) this.breaks.push(`${place} has lost ${type}`);
      else this.schemas(place, partsOf(content)['schema'], partsOf(is[type])['schema'], way);
    }
  }

  private parameters(place: string, old: Json, next: Json): void {
    const byName = (document: Json, operation: Json): Map<string, Json> =>
      new Map(
        listOf(operation['parameters']).map((each) => {
          const parameter = this.resolved(document, each);
          return [`${String(parameter['in'])} ${String(parameter['name'])}`, parameter];
        }),
      );
    const [was, is] = [byName(this.before, old), byName(this.after, next)];
    for (const [name, parameter] of was) {
      const twin = is.get(name);
      if (!twin) this.breaks.push(`${place}: ${name} is gone`);
      else this.schemas(`${place}: ${name}`, parameter['schema'], twin['schema'], 'sent');
    }
    for (const [name, parameter] of is)
      if (parameter['required'] === true && was.get(name)?.['required'] !== true)
        this.breaks.push(`${place}: ${name} must now be sent`);
  }

  operation(place: string, old: Json, next: Json): void {
    if (old['operationId'] !== next['operationId'])
      this.breaks.push(
        `${place} has another name: ${String(old['operationId'])} → ${String(next['operationId'])}`,
      );
    this.parameters(place, old, next);
    const [body, newBody] = [partsOf(old['requestBody']), partsOf(next['requestBody'])];
    if (newBody['required'] === true && body['required'] !== true)
      this.breaks.push(`${place} must now have a body`);
    this.contents(`${place} body`, body, newBody, 'sent');
    const [answers, newAnswers] = [partsOf(old['responses']), partsOf(next['responses'])];
    for (const [status, answer] of Object.entries(answers)) {
      if (!(status in newAnswers)) {
        this.breaks.push(`${place} is no longer answered ${status}`);
        continue;
      }
      const was = this.resolved(this.before, answer);
      const is = this.resolved(this.after, newAnswers[status]);
      this.contents(`${place} ${status}`, was, is, 'answered');
      for (const name of without(Object.keys(partsOf(was['headers'])), Object.keys(partsOf(is['headers']))))
        this.breaks.push(`${place} ${status} has lost the header ${name}`);
    }
  }

  all(): string[] {
    for (const [path, methods] of Object.entries(partsOf(this.before['paths'])))
      for (const method of METHODS) {
        const [old, next] = [partsOf(methods)[method], partsOf(partsOf(this.after['paths'])[path])[method]];
        const place = `${method.toUpperCase()} ${path}`;
        if (!isJson(old)) continue;
        if (isJson(next)) this.operation(place, old, next);
        else this.breaks.push(`${place} is gone`);
      }
    const schemasOf = (document: Json): string[] =>
      Object.keys(partsOf(partsOf(document['components'])['schemas']));
    for (const name of without(schemasOf(this.before), schemasOf(this.after)))
      this.breaks.push(`the schema ${name} is gone`);
    return this.breaks;
  }
}

/**
 * What clients of one OpenAPI document would miss in another: removed parts, narrower input, new kinds of answers. Additions are not breaks: an
 * operation, an optional parameter, a property of an answer, a value of an enumeration, a way to fail.
 */
export const openApiBreaks = (before: Json, after: Json): string[] => new Comparison(before, after).all();
