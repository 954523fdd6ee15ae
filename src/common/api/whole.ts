import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { map, type Observable } from 'rxjs';
import { nestedClass } from './fields.js';
import { answeredClass } from './given-back.js';
import type { Class } from './properties.js';

/** Where @nestjs/swagger stores the property names of a class, each prefixed by a colon. */
const API_PROPERTIES = 'swagger/apiModelPropertiesArray';

/** The properties of a class, and which of them hold objects of other classes. */
export interface Shape {
  names: string[];
  nested: [name: string, type: Class][];
}

const shapes = new WeakMap<Class, Shape>();

export const shapeOf = (type: Class): Shape => {
  const known = shapes.get(type);
  if (known) return known;
  const declared = (Reflect.getMetadata(API_PROPERTIES, type.prototype as object) ?? []) as string[];
  const names = declared.map((name) => name.slice(1));
  const shape: Shape = { names, nested: [] };
  shapes.set(type, shape); // a class may contain itself
  for (const name of names) {
    const inner = nestedClass(type as never, name);
    if (inner) shape.nested.push([name, inner]);
  }
  return shape;
};

/** The answer with every property of its class, null where absent. JSON from PostgreSQL is complete already. */
export const whole = (answer: unknown, type: Class): unknown => {
  if (Array.isArray(answer)) for (const each of answer as unknown[]) whole(each, type);
  else if (isPlain(answer)) {
    const { names, nested } = shapeOf(type);
    for (const name of names) answer[name] ??= null;
    for (const [name, inner] of nested) whole(answer[name], inner);
  }
  return answer;
};

const PLAIN: unknown[] = [Object.prototype, null];

/** Rows, documents and instances of answer classes; not objects of Node or Nest, such as files. */
const isPlain = (value: unknown): value is Record<string, unknown> => {
  if (typeof value !== 'object' || value === null) return false;
  const prototype = Object.getPrototypeOf(value) as object | null;
  return PLAIN.includes(prototype) || Reflect.hasMetadata(API_PROPERTIES, prototype as object);
};

/** REST answers always have the same properties. */
@Injectable()
export class WholeInterceptor implements NestInterceptor {
  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    const type = answeredClass(context.getHandler());
    return type ? next.handle().pipe(map((answer: unknown) => whole(answer, type))) : next.handle();
  }
}
