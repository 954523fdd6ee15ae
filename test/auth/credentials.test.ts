import { HttpException } from '@nestjs/common';
import { ProblemError } from '../../src/common/api/problem.js';
import { toProblemError } from '../../src/common/api/to-problem.js';
import { mintApiKey } from '../../src/common/auth/api-keys.js';
import { bearerOf } from '../../src/common/auth/credentials.js';

const refusal = (header: string | undefined): ProblemError => {
  try {
    bearerOf(header);
  } catch (error) {
    if (error instanceof ProblemError) return error;
    throw error;
  }
  throw new Error('The header was taken.');
};

describe('the Authorization header', () => {
  // RFC 6750 section 2.1; the scheme is read in any case: RFC 9110 section 11.1
  it.each([
    ['Bearer mF_9.B5f-4.1JqM', 'mF_9.B5f-4.1JqM'],
    ['bearer abc', 'abc'],
    ['BEARER abc', 'abc'],
    ['Bearer   abc', 'abc'],
    ['Bearer a-._~+/9==', 'a-._~+/9=='],
    [`Bearer ${'x'.repeat(8192)}`, 'x'.repeat(8192)],
  ])('%#: its token', (header, token) => {
    expect(bearerOf(header)).toBe(token);
  });

  it('carries an API key as well', () => {
    const { text } = mintApiKey();
    expect(bearerOf(`Bearer ${text}`)).toBe(text);
  });

  it.each([
    '',
    'Bearer',
    'Bearer ',
    'Bearerabc',
    'abc',
    'Basic c2l0ZTpzM2NyZXQ=',
    'Local anna', // a person of AUTH=local
    'Token abc',
    ' Bearer abc',
    'Bearer abc ',
    'Bearer a b',
    'Bearer abc, Bearer def',
    'Bearer abc\n',
    'Bearer\tabc',
    'Bearer =',
    'Bearer a=b',
    'Bearer "abc"',
    'Bearer äbc',
  ])('%j is refused', (header) => {
    const { code, message } = refusal(header);
    expect([code, message]).toEqual([
      'unauthenticated',
      'The Authorization header must read: Bearer and one token.',
    ]);
  });

  it('with a token of more than 8 KB is refused', () => {
    const { code, message } = refusal(`Bearer ${'x'.repeat(8193)}`);
    expect([code, message]).toEqual(['unauthenticated', 'The token is longer than 8192 bytes.']);
  });

  it('is requested when it is missing', () => {
    const { status, problem } = refusal(undefined);
    expect([status, problem]).toEqual([
      401,
      {
        type: '/docs/problems#unauthenticated',
        title: 'Authentication required',
        status: 401,
        detail: 'Send an access token or an API key: Authorization: Bearer …',
      },
    ]);
  });
});

describe('a failure of HTTP status', () => {
  it.each([
    [401, 'unauthenticated'],
    [403, 'forbidden'],
    [429, 'too_many_requests'],
  ])('%i keeps it', (status, code) => {
    const failure = toProblemError(new HttpException('So it is.', status));
    expect([failure.code, failure.status, failure.message]).toEqual([code, status, 'So it is.']);
    expect(toProblemError(Object.assign(new Error('So it is.'), { statusCode: status })).code).toBe(code);
  });
});
