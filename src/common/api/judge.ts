import { plainToInstance } from 'class-transformer';
import { validateSync } from 'class-validator';
import { Turns } from '../work/turns.js';
import { nestedClass } from './fields.js';
import { inheritedNames } from './inherited-names.js';
import { isObject } from './is-object.js';
import { quicklyJudged } from './quick-judge.js';
import { escaped, type Fault, faultsOf, faulty } from './problem.js';

type Class = new () => object;
type Members = Record<string, unknown>;

/** Number of values validated in one turn; a thousand of them take some ten milliseconds. */
const LIGHT_VALUES = 200;

/** Validation stops after this many faults. */
const ENOUGH_FAULTS = 1000;

/** Placeholder for an object that is validated separately; it has no rules. */
class Placeholder {}

const isJudged = (value: unknown): value is Members => isObject(value) && !ArrayBuffer.isView(value);

/** The number of values, counted up to `most`. */
const weightOf = (value: unknown, most: number): number => {
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return 1;
  let weight = 1;
  for (const member of Object.values(value)) {
    weight += weightOf(member, most - weight);
    if (weight > most) break;
  }
  return weight;
};

/** Whether an object has more values than are validated in one turn. */
export const isHeavy = (value: unknown): value is Members =>
  isJudged(value) && weightOf(value, LIGHT_VALUES) > LIGHT_VALUES;

/** The placeholder of a list: of the same length, with the first element that is not validated separately. */
const placeholderList = (list: readonly unknown[]): unknown[] => {
  const holder = new Array<unknown>(list.length); // sparse: the rules of elements skip the gaps
  const stranger = list.findIndex((element) => !isJudged(element));
  if (stranger >= 0) holder[stranger] = list[stranger];
  return holder;
};

/**
 * Validates a large document part by part: first the rules of its class, then each large part inside it, by the same rules as
 * the ValidationPipe of Nest.
 */
export class Judge {
  private readonly turns = new Turns();
  private readonly faults: Fault[] = [];

  constructor(
    private readonly isStrict: boolean,
    private readonly where: Fault['in'],
  ) {}

  /** @returns an instance of the class @throws ProblemError invalid with the faults */
  async judge(type: Class, value: Members): Promise<object> {
    const instance = await this.read(type, value, '');
    if (this.faults.length === 0) return instance;
    throw faulty('invalid', this.faults.slice(0, ENOUGH_FAULTS), this.faults.length > ENOUGH_FAULTS);
  }

  private async read(type: Class, value: Members, pointer: string): Promise<object> {
    if (this.turns.isOver) await this.turns.wait();
    if (weightOf(value, LIGHT_VALUES) <= LIGHT_VALUES) return this.readLight(type, value, {}, pointer);
    const light: Members = {};
    const heavy: Members = {};
    for (const [name, member] of Object.entries(value))
      (weightOf(member, LIGHT_VALUES / 4) > LIGHT_VALUES / 4 ? heavy : light)[name] = member;
    const before = this.faults.length;
    const instance = this.readLight(type, light, this.held(type, heavy), pointer) as Members;
    const refused = new Set(this.faults.slice(before).map((fault) => fault.pointer));
    for (const [name, member] of Object.entries(heavy)) {
      const nested = nestedClass(type, name);
      const place = `${pointer}/${escaped(name)}`;
      if (!nested || refused.has(place)) continue;
      instance[name] = Array.isArray(member)
        ? await this.readList(nested, member as Members[], place)
        : await this.read(nested, member as Members, place);
    }
    return instance;
  }

  private async readList(type: Class, list: Members[], pointer: string): Promise<object[]> {
    const read: object[] = [];
    for (const [index, element] of list.entries()) {
      if (this.faults.length > ENOUGH_FAULTS) break;
      read.push(await this.read(type, element, `${pointer}/${index}`));
    }
    return read;
  }

  /** The object with each large member that has a class replaced by a placeholder, so that only the rules of the object's own class are checked. */
  private held(type: Class, heavy: Members): Members {
    return Object.fromEntries(
      Object.entries(heavy).map(([name, member]) => {
        if (!nestedClass(type, name)) return [name, member];
        return [name, Array.isArray(member) ? placeholderList(member) : new Placeholder()];
      }),
    );
  }

  private readLight(type: Class, light: Members, held: Members, pointer: string): object {
    const quick = this.isStrict && Object.keys(held).length === 0 ? quicklyJudged(type, light) : undefined;
    if (quick) return quick;
    if (this.isStrict) this.faults.push(...inheritedNames(light, this.where, pointer));
    const instance = Object.assign(plainToInstance(type, light), held);
    const errors = validateSync(instance, {
      whitelist: true,
      forbidNonWhitelisted: this.isStrict,
      forbidUnknownValues: false,
      stopAtFirstError: true,
    });
    this.faults.push(...faultsOf(errors, this.where, light, pointer));
    return instance;
  }
}
