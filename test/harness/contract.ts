import type { OpenAPIObject } from '@nestjs/swagger';
import addFormats from 'ajv-formats';
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';

/** The answer to a request, and the request. */
export interface Answered {
  method: string;
  /** As in the document: /v1/projects/{project} */
  path: string;
  status: number;
  headers: Headers;
  text: string;
}

type Json = Record<string, unknown>;

interface Content {
  schema?: unknown;
}

interface Response {
  headers?: Json;
  content?: Record<string, Content>;
}

/** Headers of HTTP, the connection, CORS and Helmet, which are not declared per operation. */
const OF_HTTP =
  /^(connection|keep-alive|date|content-(type|length|encoding|security-policy)|transfer-encoding|access-control-.*|cross-origin-.*|origin-agent-cluster|referrer-policy|strict-transport-security|x-(content-type-options|dns-prefetch-control|download-options|frame-options|permitted-cross-domain-policies|xss-protection))$/;

/** An answer must have the declared properties and no others. */
const closed = (value: unknown): unknown => {
  if (Array.isArray(value)) return value.map(closed);
  if (typeof value !== 'object' || value === null) return value;
  const copy: Json = Object.fromEntries(Object.entries(value).map(([key, each]) => [key, closed(each)]));
  if (copy['properties'] && copy['type'] === 'object' && !copy['allOf'])
    copy['unevaluatedProperties'] ??= false;
  return copy;
};

/** Checks answers against the OpenAPI document: their status, type, headers and every value of their JSON. */
export class Contract {
  private readonly ajv = new Ajv2020({ strict: false, allErrors: false });
  private readonly compiled = new Map<string, ValidateFunction>();

  constructor(private readonly document: OpenAPIObject) {
    addFormats.default(this.ajv);
    this.ajv.addFormat('decimal', /^-?\d+(\.\d+)?$/);
    this.ajv.addFormat('chainage', /^-?\d+(\+\d{3})?(\.\d{1,3})?$/);
    this.ajv.addFormat('binary', true);
    const { schemas = {} } = document.components ?? {};
    const open = new Set(['ProblemAnswer']); // checked through the schemas that extend it
    this.ajv.addSchema({
      $id: 'document',
      components: {
        schemas: Object.fromEntries(
          Object.entries(schemas).map(([name, schema]) => [name, open.has(name) ? schema : closed(schema)]),
        ),
      },
    });
  }

  /** How an answer differs from its declaration; undefined if it does not. */
  fault({ method, path, status, headers, text }: Answered): string | undefined {
    const operation = this.document.paths[path]?.[method.toLowerCase() as 'get'];
    if (!operation) return `${method} ${path} is not in the document`;
    const declared = this.resolved<Response>(operation.responses[String(status)]);
    if (!declared) return `${status} is not declared: ${text.slice(0, 300)}`;
    const names = Object.keys(declared.headers ?? {}).map((name) => name.toLowerCase());
    const others = [...headers.keys()].filter((name) => !OF_HTTP.test(name) && !names.includes(name));
    if (others.length > 0) return `${status}: undeclared headers ${others.join(', ')}`;
    for (const [name, each] of Object.entries(declared.headers ?? {})) {
      const { required, schema } = this.resolved<{ required?: boolean; schema?: unknown }>(each) ?? {};
      const value = headers.get(name);
      if (value === null ? required : !this.validatorOf(`header ${name}`, schema)(value))
        return `${status}: header ${name} is ${value}`;
    }
    if (text === '') return declared.content ? `${status} has no body` : undefined;
    const type = (headers.get('content-type') ?? '').split(';')[0] ?? '';
    const content = declared.content?.[type] ?? declared.content?.[type.replace(/\/.*/, '/*')];
    if (!content) return `${status}: content type ${type} is not declared`;
    return /[/+]json$/.test(type)
      ? this.bodyFault(`${method} ${path} ${status}`, content.schema, text)
      : undefined;
  }

  private bodyFault(name: string, schema: unknown, text: string): string | undefined {
    const validate = this.validatorOf(name, schema);
    if (validate(JSON.parse(text))) return undefined;
    const [error] = validate.errors ?? [];
    return `${name.split(' ').at(-1)}: ${error?.instancePath} ${error?.message} ${JSON.stringify(error?.params)} in ${text.slice(0, 300)}`;
  }

  private validatorOf(name: string, schema: unknown): ValidateFunction {
    const known = this.compiled.get(name);
    if (known) return known;
    const text = JSON.stringify(closed(schema) ?? true).replaceAll('"#/components', '"document#/components');
    const made = this.ajv.compile(JSON.parse(text) as object);
    this.compiled.set(name, made);
    return made;
  }

  private resolved<T>(value: unknown): T | undefined {
    const { $ref } = (value ?? {}) as { $ref?: string };
    if ($ref === undefined) return value as T | undefined;
    return $ref
      .split('/')
      .slice(1)
      .reduce<unknown>((found, step) => (found as Json | undefined)?.[step], this.document) as T | undefined;
  }
}
