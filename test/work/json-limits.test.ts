import { jsonFault } from '../../src/common/api/json-limits.js';

const faultOf = (json: string) => jsonFault(Buffer.from(json));

describe('the weight of JSON', () => {
  it.each([
    ['an object of 200 members', `{${Array.from({ length: 200 }, (_, i) => `"a${i}":${i}`).join()}}`],
    ['32 levels', `${'['.repeat(32)}${']'.repeat(32)}`],
    ['brackets, commas and quotation marks in a text', JSON.stringify({ a: '[{,"\\'.repeat(50_000) })],
    ['a text that ends with a backslash', JSON.stringify([`${'x\\'.repeat(3)}`, { a: '\\' }, '[[['])],
    ['10,000 elements', JSON.stringify(new Array(10_000).fill(0))],
    ['invalid JSON', '}}}]]],,,"'],
    ['the same name in different objects', '{"a":{"a":[{"a":1},{"a":1}]}}'],
    // as written by printf("%.17g"), which distinguishes all doubles, and by JavaScript
    [
      'numbers that doubles are',
      '[0.10000000000000001,0.30000000000000004,9007199254740992,1.5e+300,-0.0,1E2,5e-324,123456789.000000000]',
    ],
    ['digits in a text', '["9007199254740993"]'],
  ])('accepts %s', (_, json) => {
    expect(faultOf(json)).toBeUndefined();
  });

  it.each([
    [
      'the 201st member',
      JSON.stringify({
        a: [0, { 'b/c': Object.fromEntries(Array.from({ length: 201 }, (_, i) => [i, 0])) }],
      }),
      '/a/1/b~1c',
      'an object has more than 200 members',
    ],
    ['the 33rd level', `{"a":${'['.repeat(33)}`, `/a${'/0'.repeat(31)}`, /deeper than 32 levels/],
    [
      'the 10,001st element',
      JSON.stringify({ a: new Array(10_001).fill(0) }),
      '/a',
      /more than 10,000 elements/,
    ],
    [
      'a name of 257 bytes',
      JSON.stringify([{ ['x'.repeat(257)]: 0 }]),
      '/0',
      /^the name "xxx.* longer than 256 bytes$/,
    ],
    [
      'the 60,001st value',
      JSON.stringify({ a: new Array(300).fill(new Array(201).fill(0)) }),
      '',
      'the JSON has more than 60,000 values',
    ],
    ['a name given twice', '{"a":[{"b":1,"c":{"b":2},"b":3}]}', '/a/0/b', '"b" is given twice'],
    ['a name given twice, once with an escape', '{"ab":1,"\\u0061b":2}', '/ab', '"ab" is given twice'],
  ])('refuses %s at its place', (_, json, pointer, detail) => {
    expect(faultOf(json)).toEqual({
      in: 'body',
      pointer,
      detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
    });
  });

  // IEEE 754: above 2^53 not every whole number is a double; the largest double is about 1.8e308, the smallest 4.9e-324
  it.each(['9007199254740993', '-12345678901234567890', '0.123456789012345678', '1e400', '1e-400'])(
    'refuses the number %s, which no double can represent, as it was sent',
    (value) => {
      const detail = `${value} is more than a JSON number holds exactly: send it as text`;
      expect(faultOf(`{"a":[1,${value}]}`)).toEqual({ in: 'body', pointer: '/a/1', value, detail });
    },
  );
});
