import type { FastifyReply, FastifyRequest } from 'fastify';

interface CookieKind {
  /** Name over TLS: `__Host-` keeps other hosts of the domain from setting it (RFC 6265bis, section 4.1.3.2). */
  secureName: string;
  plainName: string;
  sameSite: 'Strict' | 'Lax';
}

const isSecure = ({ protocol }: FastifyRequest): boolean => protocol === 'https';

const nameOf = ({ secureName, plainName }: CookieKind, request: FastifyRequest): string =>
  isSecure(request) ? secureName : plainName;

export const cookieOf = (kind: CookieKind, request: FastifyRequest): string | undefined => {
  const start = `${nameOf(kind, request)}=`;
  const cookies = (request.headers.cookie ?? '').split(';').map((each) => each.trim());
  return cookies.find((each) => each.startsWith(start))?.slice(start.length);
};

/** Sets a cookie in addition to those already set. @param maxAgeS  0 removes it */
export const setCookie = (
  kind: CookieKind,
  request: FastifyRequest,
  reply: FastifyReply,
  value: string,
  maxAgeS: number,
): void => {
  const attributes = ['Path=/', `Max-Age=${maxAgeS}`, 'HttpOnly', `SameSite=${kind.sameSite}`];
  if (isSecure(request)) attributes.push('Secure');
  void reply.header('set-cookie', [`${nameOf(kind, request)}=${value}`, ...attributes].join('; '));
};
