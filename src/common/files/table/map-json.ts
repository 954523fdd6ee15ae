import { isObject } from '../../api/is-object.js';
import { jsonFault } from '../../api/json-limits.js';
import { faulty } from '../../api/problem.js';
import { refused } from './forms.js';

/** A column map as sent. @throws ProblemError invalid unless it is a JSON object */
export const mapJson = (text: string): Record<string, unknown> => {
  const fault = jsonFault(Buffer.from(text));
  if (fault) throw faulty('invalid', [{ ...fault, pointer: `/map${fault.pointer}` }]);
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw refused('/map', text, `the map is not JSON: ${(error as Error).message}`);
  }
  if (isObject(value)) return value as Record<string, unknown>;
  throw refused('/map', value, 'the map must be a JSON object of field and column heading');
};
